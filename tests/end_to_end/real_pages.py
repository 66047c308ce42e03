"""The pages of a running daemon's record in a real browser of a phone's size."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from playwright.async_api import Page, async_playwright

CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"]
PHONE = {"width": 390, "height": 844}


@asynccontextmanager
async def pages(config: Path) -> AsyncIterator[str]:
    """The address of the pages; the program ends with the block."""
    served = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "strandkeeper_dashboard", str(config), "--port", "0"),
        stderr=asyncio.subprocess.PIPE,
    )
    try:
        yield await asyncio.wait_for(_address(served), 30)
    finally:
        if served.returncode is None:
            served.terminate()
        await asyncio.wait_for(served.communicate(), 20)


async def _address(served: asyncio.subprocess.Process) -> str:
    assert served.stderr is not None
    async for line in served.stderr:
        if line.startswith(b"dashboard: "):
            return line.decode().removeprefix("dashboard: ").strip().rstrip("/")
    raise AssertionError("the pages' program ended before it listened")


@asynccontextmanager
async def phone(config: Path) -> AsyncIterator[tuple[Page, str, list[str]]]:
    """A page of a phone's size, the address, and every error the page reports."""
    async with pages(config) as address, async_playwright() as driver:
        browser = await driver.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        context = await browser.new_context(
            viewport=PHONE,  # type: ignore[arg-type]
            has_touch=True,
            is_mobile=True,
        )
        page = await context.new_page()
        errors: list[str] = []
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.on("console", lambda m: errors.append(m.text) if m.type == "error" else None)
        try:
            yield page, address, errors
        finally:
            await browser.close()
