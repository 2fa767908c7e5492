"""Pictures from people: read by content, re-encoded, kept under a random name."""

from __future__ import annotations

import io
import secrets
from datetime import datetime
from typing import TYPE_CHECKING

from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile
from PIL import Image, ImageOps, UnidentifiedImageError

from workshop.errors import Refused
from workshop.models import Attachment

if TYPE_CHECKING:
    from workshop.people.models import Person

MOST_BYTES = 10 * 1024 * 1024
MOST_PIXELS = 40_000_000
LONGEST_SIDE = 2000


def keep_picture(*, file: UploadedFile, by: Person, at: datetime, caption: str = "") -> Attachment:
    """Store a JPEG or PNG as a fresh JPEG of at most 2,000 pixels a side, without its metadata.

    Raises `Refused` for anything that is no such picture, over 10 MB or over 40 megapixels.
    """
    if file.size is None or file.size > MOST_BYTES:
        raise Refused("Picture: at most 10 MB. Take a smaller one.", field="photo")
    try:
        picture = Image.open(file, formats=["JPEG", "PNG"])
        if picture.width * picture.height > MOST_PIXELS:
            raise Refused("Picture: at most 40 megapixels. Take a smaller one.", field="photo")
        upright = ImageOps.exif_transpose(picture).convert("RGB")
    except (UnidentifiedImageError, OSError, Image.DecompressionBombError) as reason:
        raise Refused("Picture: only JPEG and PNG can be kept.", field="photo") from reason
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    out = io.BytesIO()
    upright.save(out, "JPEG", quality=85)
    row = Attachment(caption=caption, content_type="image/jpeg", by=by, at=at)
    row.file.save(f"{secrets.token_hex(16)}.jpg", ContentFile(out.getvalue()), save=False)
    row.save()
    return row
