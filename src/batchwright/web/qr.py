"""An address as a code that a telephone's camera reads."""

from __future__ import annotations

import io


def qr_svg(address: str) -> str:
    """Return an address as a QR code (ISO/IEC 18004) in SVG, dark on light whatever the page's colours."""
    import segno  # only the one page that shows a code needs it

    out = io.BytesIO()
    segno.make(address, error="m", micro=False).save(out, kind="svg", scale=6, border=4, dark="#000", light="#fff",
                                                     xmldecl=False, svgns=True, omitsize=False)  # fmt: skip
    return out.getvalue().decode()
