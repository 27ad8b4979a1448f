"""The browser that pages are tested with: it is there, and it draws in three dimensions."""

from playwright.sync_api import Browser

from browser import serving


def test_the_browser_draws_in_three_dimensions(chromium: Browser) -> None:
    page = chromium.new_page()
    with serving({"/x.html": b"<canvas id=c></canvas>"}) as address:
        page.goto(f"{address}/x.html")
        units = page.evaluate(
            "(() => { const g = document.getElementById('c').getContext('webgl2');"
            " return g ? g.getParameter(g.MAX_VERTEX_TEXTURE_IMAGE_UNITS) : 0; })()"
        )
    page.close()
    assert units > 0
