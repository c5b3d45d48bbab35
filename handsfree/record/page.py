"""The certificate as one HTML file for paper: no script, no outside resource."""

from __future__ import annotations

import re
from dataclasses import asdict
from importlib import resources
from typing import Literal

from handsfree.record.certificate import Certificate

PaperSize = Literal["a4", "letter"]
TEMPLATE = "certificate.html.j2"
SEAL = re.compile("[0-9a-f]{64}")
"""What may stand at the foot of each page: a file that was edited by hand can hold anything."""


def page(shown: Certificate, size: PaperSize = "a4") -> str:
    """Return the certificate as a whole HTML document, every text in it escaped."""
    from jinja2 import Environment, StrictUndefined  # noqa: PLC0415 - only for a certificate

    text = (resources.files("handsfree") / "data" / TEMPLATE).read_text(encoding="utf-8")
    room = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    return room.from_string(text).render(
        **asdict(shown),
        mark=f"Seal {shown.seal}" if SEAL.fullmatch(shown.seal) else "",
        total_joints=shown.total_joints,
        size={"a4": "A4", "letter": "letter"}[size],
    )
