"""Pictures that come in: what is refused and how, and that nothing but what can be seen is kept."""

from __future__ import annotations

import contextlib
import io
import random
import struct
import zlib

import pytest
from PIL import Image, PngImagePlugin

from batchwright.base.errors import InputError
from batchwright.web.typed import LARGEST_PICTURE
from batchwright.web.uploads import LONGEST_SIDE, MOST_PIXELS, clean_picture

SECRET = b"47.3769N 8.5417E at the kitchen of Imogen Vale"
ORIENTATION, DESCRIPTION, GPS = 0x0112, 0x010E, 0x8825


def picture(width: int = 120, height: int = 80, mode: str = "RGB") -> Image.Image:
    """Return a picture whose left top corner is dark, so that turning shows."""
    made = Image.new(mode, (width, height), 1 if mode == "1" else "white")
    made.paste(0 if mode in ("1", "L") else "black", (0, 0, width // 4, height // 4))
    return made


def saved(made: Image.Image, form: str, **options: object) -> bytes:
    out = io.BytesIO()
    made.save(out, form, **options)
    return out.getvalue()


def opened(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data))


def fault_of(data: bytes) -> tuple[str, str, str]:
    with pytest.raises(InputError) as caught:
        clean_picture(data)
    (fault,) = caught.value.faults
    assert fault.field == "picture"
    return str(fault.value), fault.allowed, fault.hint


def chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def png_of_size(width: int, height: int) -> bytes:
    """Return a few hundred bytes that claim to be a picture of any size."""
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\0" * 10_000)) + chunk(b"IEND", b"")


@pytest.mark.parametrize(("form", "media_type"), [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("WEBP", "image/jpeg")])
def test_a_picture_comes_out_as_it_looks(form: str, media_type: str) -> None:
    clean = clean_picture(saved(picture(), form))
    assert (clean.media_type, clean.width, clean.height) == (media_type, 120, 80)
    shown = opened(clean.data).convert("L")
    assert shown.size == (120, 80)
    assert shown.getpixel((5, 5)) < 30
    assert shown.getpixel((100, 70)) > 225


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16"])
def test_every_kind_of_png(mode: str) -> None:
    plain = picture(mode="RGB").convert("L")
    made = Image.new("I;16", plain.size) if mode == "I;16" else plain.convert(mode)
    if mode == "I;16":
        made.putdata([value * 257 for value in plain.tobytes()])
    shown = opened(clean_picture(saved(made, "PNG")).data).convert("L")
    assert shown.getpixel((5, 5)) < 30
    assert shown.getpixel((100, 70)) > 225


def test_what_is_seen_through_stands_on_white() -> None:
    made = Image.new("RGBA", (60, 60), (0, 0, 0, 0))
    assert opened(clean_picture(saved(made, "PNG")).data).convert("L").getpixel((30, 30)) == 255


def test_turned_as_the_camera_noted() -> None:
    exif = Image.Exif()
    exif[ORIENTATION] = 6  # held upright: the picture lies on its side until turned
    clean = clean_picture(saved(picture(), "JPEG", exif=exif))
    assert (clean.width, clean.height) == (80, 120)
    assert opened(clean.data).convert("L").getpixel((75, 5)) < 60  # the dark corner went to the right


def test_metadata_is_gone_from_a_jpeg() -> None:
    exif = Image.Exif()
    exif[DESCRIPTION] = SECRET.decode()
    exif.get_ifd(GPS)[2] = (47.0, 22.0, 36.8)
    sent = saved(picture(), "JPEG", exif=exif, comment=SECRET, icc_profile=b"profile " + SECRET) + SECRET
    assert sent.count(SECRET) == 4
    clean = clean_picture(sent)
    assert b"kitchen" not in clean.data
    assert b"Exif" not in clean.data
    assert not opened(clean.data).getexif()


def test_metadata_is_gone_from_a_png() -> None:
    notes = PngImagePlugin.PngInfo()
    notes.add_text("Comment", SECRET.decode())
    notes.add_itxt("XML:com.adobe.xmp", SECRET.decode())
    sent = saved(picture(), "PNG", pnginfo=notes) + SECRET
    assert sent.count(SECRET) == 3
    clean = clean_picture(sent)
    assert b"kitchen" not in clean.data
    assert b"tEXt" not in clean.data


def test_a_picture_with_a_page_inside_is_only_a_picture() -> None:
    page = b"<html><script>alert(1)</script>"
    sent = saved(picture(), "JPEG", comment=page) + page
    assert b"<script" not in clean_picture(sent).data


def test_the_second_picture_behind_a_phones_is_gone() -> None:
    sent = saved(picture(), "MPO", save_all=True, append_images=[picture(90, 70)])
    clean = clean_picture(sent)
    assert clean.data.count(b"\xff\xd8\xff") == 1 < sent.count(b"\xff\xd8\xff")
    assert opened(clean.data).format == "JPEG"


def test_large_pictures_are_made_smaller() -> None:
    clean = clean_picture(saved(Image.new("L", (4200, 2100), 200), "JPEG"))
    assert (clean.width, clean.height) == (LONGEST_SIDE, LONGEST_SIDE // 2)


def test_a_photograph_sent_as_png_becomes_a_jpeg() -> None:
    noise = Image.frombytes("RGB", (1200, 1000), random.Random(1).randbytes(3_600_000))
    assert clean_picture(saved(noise, "PNG")).media_type == "image/jpeg"


@pytest.mark.parametrize("size", [(50_001, 50_001), (10_000, 5_001), (1, 2_000_000_000)])
def test_more_pixels_than_can_be_are_refused_before_decoding(size: tuple[int, int]) -> None:
    value, allowed, hint = fault_of(png_of_size(*size))
    assert "pixels" in value
    assert allowed == f"at most {MOST_PIXELS // 1_000_000} million pixels"
    assert "fewer megapixels" in hint


def test_too_small_to_hold_letters() -> None:
    assert "at least 32 pixels" in fault_of(saved(Image.new("L", (31, 500)), "PNG"))[1]


def test_too_many_bytes() -> None:
    assert fault_of(b"\xff\xd8" + b"\0" * LARGEST_PICTURE)[1] == "at most 24 MB"


@pytest.mark.parametrize("data", [
    b"", b"%PDF-1.7\n%", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"PK\x03\x04" + b"\0" * 60,
    b"GIF89a" + b"\0" * 40, b"II*\0" + b"\0" * 40, b"BM" + b"\0" * 60, b"\x00\x00\x01\x00" + b"\0" * 40,
    b"%!PS-Adobe-3.0 EPSF-3.0\n", b"ordinary words",
])  # fmt: skip
def test_known_by_content_and_refused(data: bytes) -> None:
    assert fault_of(data)[1] == "a JPEG, PNG or WebP picture"


def test_a_gif_by_any_name_is_refused() -> None:
    assert fault_of(saved(picture(mode="L"), "GIF"))[1] == "a JPEG, PNG or WebP picture"


def test_a_phones_own_form_is_named() -> None:
    value, _, hint = fault_of(b"\0\0\0\x24ftypheic\0\0\0\0mif1heic" + b"\0" * 40)
    assert value == "HEIC or AVIF"
    assert "most compatible" in hint


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_incomplete(form: str) -> None:
    whole = saved(Image.frombytes("L", (200, 200), random.Random(2).randbytes(40_000)), form)
    assert "Send it again" in fault_of(whole[: len(whole) // 2])[2]


def test_a_bomb_in_a_note_is_refused_or_dropped() -> None:
    note = chunk(b"zTXt", b"Comment\0\0" + zlib.compress(b"\0" * 80_000_000, 9))
    whole = saved(picture(), "PNG")
    assert "Send it again" in fault_of(whole[:33] + note + whole[33:])[2]


@pytest.mark.filterwarnings("ignore::UserWarning")  # a broken camera's note is told of, and left out
@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_broken_bytes_give_a_picture_or_a_sentence(form: str) -> None:
    exif = Image.Exif()
    exif[ORIENTATION], exif[DESCRIPTION] = 8, "oven"
    whole = saved(picture(64, 48), form, exif=exif)
    chance = random.Random(3)
    for _ in range(150):
        broken = bytearray(whole)
        for _ in range(chance.randint(1, 6)):
            broken[chance.randrange(len(broken))] = chance.randrange(256)
        with contextlib.suppress(InputError):
            assert opened(clean_picture(bytes(broken)).data).format in ("JPEG", "PNG")
