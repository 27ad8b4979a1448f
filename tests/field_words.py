"""What docs/job-file.md says of each field, as the card shows it. Run this after a change of that page:

python tests/field_words.py
"""

import json
from pathlib import Path
from typing import Final

from test_job_docs import SECTIONS, rows_of

FILE: Final = Path(__file__).parents[1] / "src" / "proveout" / "job" / "field_words.json"


def field_words() -> dict[str, dict[str, dict[str, str]]]:
    """Meaning and default of each field in plain words, by table and field."""
    return {
        table.__name__: {
            name: {"says": _plain(row[1]), "left_out": _plain(row[2])}
            for name, row in rows_of(heading).items()
        }
        for heading, table in SECTIONS.items()
    }


def _plain(text: str) -> str:
    return text.replace('`"', "").replace('"`', "").replace("`", "").strip()


def written() -> str:
    """The file's text."""
    return json.dumps(field_words(), indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    FILE.write_text(written(), encoding="utf-8")
