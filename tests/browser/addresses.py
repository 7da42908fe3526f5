"""Every page of the service, by a name for people."""

from __future__ import annotations

from html import escape

from tests.browser.asking import TANK, WITH_LID, address_of
from tests.browser.hosts import STYLE
from tests.browser.shops import Shared, Shop

DOCS = {
    "docs": "/docs",
    "guides": "/docs/guides",
    "guide": "/docs/guides/embed-the-calculator",
    "models": "/docs/models",
    "model": "/docs/models/heat",
    "problems": "/docs/problems",
    "problem": "/problems/not-valid",
}
REFERENCE = {"reference": "/docs/api"}
CALCULATOR = {
    "calculator": "/calculator?language=en-GB",
    "calculated": address_of(TANK),
    "compared": address_of(TANK, WITH_LID, {"range": "yes"}),
    "faulty": address_of(TANK, {"length": "wide"}),
    "german": address_of(TANK, language="de"),
}


def addresses(shared: Shared) -> dict[str, str]:
    """All pages, with a quote that is shared."""
    quotes = {
        f"quote-{language}": f"{shared.path}?as=html&language={language}"
        for language in ("en-GB", "de", "fr")
    }
    return {**quotes, **CALCULATOR, **DOCS, **REFERENCE}


def embedding(shop: Shop, key: str, **more: str) -> str:
    """A page of another site with the calculator in it, as the service says it is put there."""
    script = shop.get("/embed").json["calculator"]
    attributes = {"key": key, "language": "en-GB"} | more
    said = " ".join(f'{name}="{escape(text)}"' for name, text in attributes.items())
    source = f'src="{shop.at(script["src"])}" integrity="{script["integrity"]}"'
    return f"""<!doctype html>
<html lang="en-GB">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>Keeping costs</title>
<link rel="icon" href="data:,">
<link rel="stylesheet" href="{STYLE}">
<main>
<h1>The club's page</h1>
<h2>What a tank costs to keep</h2>
<{script["element"]} {said}></{script["element"]}>
</main>
<script {source} crossorigin="anonymous" defer></script>
</html>
"""
