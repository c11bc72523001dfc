"""Pictures that come in: known by their content, bounded before they are decoded, made anew without what they carried.

Nothing of the file that was sent is kept but what can be seen: place, time, maker, comments and whatever was hung
behind the picture are gone.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from threading import Lock

from PIL import Image, ImageOps, UnidentifiedImageError
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile
from PIL.WebPImagePlugin import WebPImageFile

from batchwright.base.errors import Fault, InputError
from batchwright.web.typed import LARGEST_PICTURE

FIELD = "picture"
FORMS = (JpegImageFile.format, PngImageFile.format, WebPImageFile.format)
MOST_PIXELS = 50_000_000  # a 50-megapixel phone's picture; decoded it takes 150 to 200 MB
LEAST_SIDE = 32  # px; less holds no line of letters
LONGEST_SIDE = 3000  # px; a packet's side at 300 dots per inch is 25 cm, and small print stays legible
LARGEST_PNG = 3_000_000  # bytes; a sharp screen picture is smaller, a photograph larger and better a JPEG
JPEG_QUALITY = 88  # common practice: no blocks seen about letters
ALLOWED = "a JPEG, PNG or WebP picture"
_HEIF = re.compile(rb"ftyp(?:heic|heix|heim|heis|hevc|hevx|mif1|msf1|avif|avis)")
_one_at_a_time = Lock()  # a decoded picture is large; several at once must not take the computer's memory


@dataclass(frozen=True, slots=True)
class CleanPicture:
    """A picture made anew: its bytes, media type, width and height [px]."""

    data: bytes
    media_type: str
    width: int
    height: int


def clean_picture(data: bytes) -> CleanPicture:
    """Return a sent picture made anew: upright, at most LONGEST_SIDE long, without metadata, one frame.

    data: the file's bytes as sent; its name is never asked. Raises InputError, with what to do, for what is too large
    in bytes or pixels, no picture of an allowed form, broken or incomplete.
    """
    if not data:
        raise _refused("", ALLOWED, "The file is empty. Take the picture again.")
    if len(data) > LARGEST_PICTURE:
        hint = "Take it with fewer megapixels, or cut it to the label."
        raise _refused("", f"at most {LARGEST_PICTURE // 1_000_000} MB", hint)
    with _one_at_a_time:
        try:
            return _encoded(_decoded(data))
        except InputError:
            raise
        except Image.DecompressionBombError as error:
            raise _too_many_pixels() from error
        except Exception as error:  # decoders of broken files raise errors of many kinds; each means the same here
            raise _refused("", "a whole picture", "It came incomplete or broken. Send it again.") from error


def _refused(value: str, allowed: str, hint: str) -> InputError:
    return InputError([Fault(FIELD, value, allowed, hint)])


def _too_many_pixels(size: tuple[int, int] | None = None) -> InputError:
    given = f"{size[0]} x {size[1]} pixels" if size else "more pixels than can be opened"
    hint = "Take it with fewer megapixels, or cut it to the label."
    return _refused(given, f"at most {MOST_PIXELS // 1_000_000} million pixels", hint)


def _decoded(data: bytes) -> Image.Image:
    """Return the pixels of a picture, upright and no larger than is kept; its head is judged before it is decoded."""
    try:
        opened = Image.open(io.BytesIO(data), formats=FORMS)
    except UnidentifiedImageError as error:
        if _HEIF.match(data[4:16]):
            hint = "Set the camera to its most compatible form (JPEG), or send a screen picture of it."
            raise _refused("HEIC or AVIF", ALLOWED, hint) from error
        raise _refused("", ALLOWED, "This file is of another kind, or its beginning is missing.") from error
    with opened:
        if opened.width * opened.height > MOST_PIXELS:
            raise _too_many_pixels(opened.size)
        if min(opened.size) < LEAST_SIDE:
            hint = "No letters can be read in it. Take the picture again."
            raise _refused(f"{opened.width} x {opened.height} pixels", f"at least {LEAST_SIDE} pixels each way", hint)
        opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))  # a JPEG decodes to half or a quarter where that is enough
        opened.load()
        turned = _upright(opened)
    sent_as_png = opened.format == "PNG"
    plain = _without_transparency(turned)
    plain.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    made = Image.new(plain.mode, plain.size)  # nothing but pixels goes over
    made.paste(plain)
    made.format = "PNG" if sent_as_png else "JPEG"
    return made


def _upright(opened: Image.Image) -> Image.Image:
    """Return the picture turned as its camera noted; as it is where the note cannot be read."""
    try:
        return ImageOps.exif_transpose(opened)
    except Exception:  # a broken note, of whatever kind of error, is no reason to refuse a whole picture
        return opened


def _without_transparency(picture: Image.Image) -> Image.Image:
    """Return a grey or coloured picture; what can be seen through stands on white."""
    if picture.mode in ("L", "RGB"):
        return picture
    if picture.has_transparency_data:
        clear = picture.convert("RGBA")
        ground = Image.new("RGB", picture.size, "white")
        ground.paste(clear, mask=clear.getchannel("A"))
        return ground
    if picture.mode.startswith("I"):  # 16 bits of grey; `convert` would cut them off instead of scaling
        return picture.convert("I").point(lambda value: value / 256).convert("L")
    return picture.convert("L" if picture.mode in ("1", "LA", "F") else "RGB")


def _encoded(picture: Image.Image) -> CleanPicture:
    """Return a picture's bytes: PNG where one came and stays small, else JPEG."""
    out = io.BytesIO()
    if picture.format == "PNG":
        picture.save(out, "PNG", optimize=False)
        if out.tell() <= LARGEST_PNG:
            return CleanPicture(out.getvalue(), "image/png", *picture.size)
        out = io.BytesIO()
    picture.save(out, "JPEG", quality=JPEG_QUALITY)
    return CleanPicture(out.getvalue(), "image/jpeg", *picture.size)
