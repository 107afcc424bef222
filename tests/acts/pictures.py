"""A few real picture files for imports: small, all different."""

from __future__ import annotations

from functools import cache
from io import BytesIO
from random import Random

from PIL import Image


@cache
def jpeg(seed: int, *, times: int = 1) -> bytes:
    """Return a JPEG of 240 × 180 pixels, or so many times as wide and high, another one for each seed."""
    dice = Random(seed)
    patches = Image.new("RGB", (4, 3))
    patches.putdata([(dice.randrange(256), dice.randrange(256), dice.randrange(256)) for _ in range(12)])
    out = BytesIO()
    patches.resize((240 * times, 180 * times), Image.Resampling.BICUBIC).save(out, "JPEG")
    return out.getvalue()


def made_up(seed: int) -> bytes:
    """Return such a JPEG whose packet says that a program made it up. Source of the word: IPTC Digital Source Type NewsCodes."""
    packet = (
        '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        '<rdf:Description rdf:about="" xmlns:Iptc4xmpExt="http://iptc.org/std/Iptc4xmpExt/2008-02-29/"'
        ' Iptc4xmpExt:DigitalSourceType="http://cv.iptc.org/newscodes/digitalsourcetype/trainedAlgorithmicMedia"/>'
        "</rdf:RDF></x:xmpmeta>"
    )
    out = BytesIO()
    Image.open(BytesIO(jpeg(seed))).save(out, "JPEG", xmp=packet.encode())
    return out.getvalue()
