"""Photographs as files: read with distrust, turned upright, made smaller, and without anything but what they show.

Where and when a picture was taken, with which phone, and every other note that a camera writes into it are left out:
the pixels are drawn into a new picture, which has no notes.
"""

import hashlib
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from upsides.errors import PhotoRefusedError
from upsides.errors.wording import gettext as _

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_BYTES: Final = 25 << 20
"""Largest file that is taken. Phones write 2 to 12 MB."""
MOST_POINTS: Final = 60_000_000
"""Largest picture that is unpacked: 180 MB of memory. A phone's finest has about 50 million points."""
LONGEST, SMALL = 2048, 400
"""The longer side of what is kept, and of the small picture of a list, in points."""
_FORMATS: Final = ("JPEG", "PNG", "WEBP", "HEIF")
_KINDS: Final = _("a photograph as JPEG, PNG, WebP or HEIC")


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph as it is kept.

    Args:
        jpeg: its bytes.
        width, height: in points.
    """

    jpeg: bytes
    width: int
    height: int

    @property
    def sha256(self) -> str:
        """Return the hash of its bytes, by which it is found."""
        return hashlib.sha256(self.jpeg).hexdigest()


def prepared(data: bytes, name: str) -> Picture:
    """Return a photograph as it is kept: upright, at most 2048 points long, as JPEG without any notes.

    Args:
        data: the file as it came.
        name: what it was called, for a refusal.

    Raises:
        PhotoRefusedError: it is empty, too large, no photograph, or cannot be read to its end.
    """
    if not data:
        raise PhotoRefusedError(name, _("the file is empty"), _("choose it again"))
    if len(data) > MOST_BYTES:
        reason = _("it has more than {most_bytes} MB, which is the most", most_bytes=MOST_BYTES >> 20)
        raise PhotoRefusedError(name, reason, _("take it again in a smaller size"))
    found = _opened(data, name)
    try:
        found.draft("RGB", (LONGEST, LONGEST))  # unpacks no more of a JPEG than is needed
        found.load()
        return _kept(_plain(found), LONGEST)
    except Exception as error:  # noqa: BLE001 (whatever the decoders say of files that are damaged)
        reason = _("it cannot be read to its end ({error})", error=_first_line(error))
        raise PhotoRefusedError(name, reason, _("choose it again, or take a new one")) from None


def small(jpeg: bytes) -> bytes:
    """Return the small picture of one that is kept, at most 400 points long, as JPEG."""
    from PIL import Image

    with Image.open(io.BytesIO(jpeg), formats=["JPEG"]) as found:
        found.draft("RGB", (SMALL, SMALL))
        return _kept(found.convert("RGB"), SMALL).jpeg


def _opened(data: bytes, name: str) -> "Image":
    """Open a picture without unpacking it.

    Raises:
        PhotoRefusedError: it is none of the formats, or has too many points.
    """
    from PIL import Image, UnidentifiedImageError
    from pillow_heif import register_heif_opener

    register_heif_opener()
    try:
        found = Image.open(io.BytesIO(data), formats=_FORMATS)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_many(name) from None
    except UnidentifiedImageError:
        raise PhotoRefusedError(
            name, _("it is no picture that can be read"), _("choose {kinds}", kinds=_KINDS)
        ) from None
    except Exception as error:  # noqa: BLE001 (whatever the decoders say of files that are damaged)
        raise PhotoRefusedError(
            name, _("it cannot be read ({error})", error=_first_line(error)), _("choose {kinds}", kinds=_KINDS)
        ) from None
    if found.width * found.height > MOST_POINTS:
        raise _too_many(name)
    return found


def _too_many(name: str) -> PhotoRefusedError:
    reason = _("unpacked it would have more than {most_points} million points", most_points=MOST_POINTS // 1000000)
    return PhotoRefusedError(name, reason, _("take it again in a smaller size"))


def _plain(found: "Image") -> "Image":
    """Return a picture upright, in the colours of screens, what can be seen through as white."""
    from PIL import Image

    upright = _in_screen_colours(_upright(found))
    if upright.mode in {"RGBA", "LA", "PA"} or "transparency" in upright.info:
        clear = upright.convert("RGBA")
        white = Image.new("RGBA", clear.size, "white")
        return Image.alpha_composite(white, clear).convert("RGB")
    return upright.convert("RGB")


def _upright(found: "Image") -> "Image":
    """Return a picture turned as its camera says; as it is where that note cannot be read."""
    from PIL import ImageOps

    try:
        return ImageOps.exif_transpose(found)
    except Exception:  # noqa: BLE001 (notes of cameras are often wrong, and the picture is good without them)
        return found


def _in_screen_colours(found: "Image") -> "Image":
    """Return a picture in sRGB, as it is where it does not say otherwise or cannot be turned into that."""
    from PIL import ImageCms

    profile = found.info.get("icc_profile")
    if not profile or found.mode != "RGB":
        return found
    try:
        given = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        return ImageCms.profileToProfile(found, given, ImageCms.createProfile("sRGB")) or found
    except (ImageCms.PyCMSError, OSError, ValueError):
        return found


def _kept(found: "Image", longest: int) -> Picture:
    """Return a picture of the three colours drawn anew, no side longer than `longest`."""
    from PIL import Image

    found.thumbnail((longest, longest), Image.Resampling.LANCZOS)
    drawn = Image.new("RGB", found.size)  # it has no notes, which those that are read carry along
    drawn.paste(found)
    out = io.BytesIO()
    drawn.save(out, "JPEG", quality=85, optimize=True, progressive=True)
    return Picture(out.getvalue(), drawn.width, drawn.height)


def _first_line(error: Exception) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0][:80]
