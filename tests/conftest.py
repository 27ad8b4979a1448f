"""Fixtures that several test modules share: a real browser, where the machine has one."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from browser import chromium_found, launched


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """A headless Chromium for the whole session; tests skip without one, or fail where one is demanded."""
    found = chromium_found()
    with launched(found) as browser:
        yield browser
