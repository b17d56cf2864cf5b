"""Files that people send as pictures, good and bad, made on the spot."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib

from PIL import Image


def picture(kind: str = "JPEG", size: tuple[int, int] = (320, 200), mode: str = "RGB", colour: object = (200, 30, 30), **options: object) -> bytes:
    out = io.BytesIO()
    Image.new(mode, size, colour).save(out, kind, **options)
    return out.getvalue()


def half_red_half_blue(orientation: int) -> bytes:
    """Red on the left and blue on the right once it is upright; stored as a camera held in that way stores it."""
    upright = Image.new("RGB", (400, 200), (220, 20, 20))
    upright.paste((20, 20, 220), (200, 0, 400, 200))
    back = {2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180, 4: Image.Transpose.FLIP_TOP_BOTTOM, 5: Image.Transpose.TRANSPOSE,
            6: Image.Transpose.ROTATE_90, 7: Image.Transpose.TRANSVERSE, 8: Image.Transpose.ROTATE_270}.get(orientation)
    exif = Image.Exif()
    exif[0x0112] = orientation
    out = io.BytesIO()
    (upright.transpose(back) if back is not None else upright).save(out, "JPEG", quality=95, exif=exif)
    return out.getvalue()


def with_exif(*, taken: str = "", gps: bool = False, filler: int = 0) -> bytes:
    exif = Image.Exif()
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken
    if gps:
        exif.get_ifd(0x8825).update({1: "N", 2: (53.0, 12.0, 44.0), 3: "W", 4: (4.0, 1.0, 7.0)})
    if filler:
        exif[0x010E] = "CANARY" * (filler // 6)
    return picture(exif=exif)


def bomb(side: int) -> bytes:
    """A PNG of side x side pixels that says so and holds next to nothing."""
    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
    header = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"\0" * 4096)) + chunk(b"IEND", b"")


def animated(kind: str) -> bytes:
    out = io.BytesIO()
    frames = [Image.new("RGB", (40, 40), (shade, 0, 0)) for shade in (0, 120, 240)]
    frames[0].save(out, kind, save_all=True, append_images=frames[1:])
    return out.getvalue()


def a_zip() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("evil.txt", "CANARY")
    return out.getvalue()


HEIC = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 200
SVG = b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
EPS = b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 10 10\nshowpage\n"
