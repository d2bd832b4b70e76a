"""Makes the pictures of this folder with Pillow, which is no part of the product: corner.png and eight JPEG files of it,
stored as a camera held each way would store them (EXIF orientation 1 to 8), one with time and place.

    apt-get install python3-pil && python3 tests/photos/make-fixtures.py
"""

import pathlib

from PIL import Image

HERE = pathlib.Path(__file__).parent / "fixtures"
HERE.mkdir(exist_ok=True)
# 96 x 64: red top left quarter, green top right, blue bottom left, grey bottom right.
upright = Image.new("RGB", (96, 64), (128, 128, 128))
upright.paste((220, 30, 30), (0, 0, 48, 32))
upright.paste((30, 180, 30), (48, 0, 96, 32))
upright.paste((30, 30, 220), (0, 32, 48, 64))
upright.save(HERE / "corner.png")

# What has to be stored so that a viewer which obeys the tag shows `upright`: the inverse of the turn it makes.
T = Image.Transpose
STORE = {
    1: None,
    2: T.FLIP_LEFT_RIGHT,
    3: T.ROTATE_180,
    4: T.FLIP_TOP_BOTTOM,
    5: T.TRANSPOSE,
    6: T.ROTATE_90,
    7: T.TRANSVERSE,
    8: T.ROTATE_270,
}
for tag, turn in STORE.items():
    stored = upright if turn is None else upright.transpose(turn)
    exif = Image.Exif()
    exif[0x0112] = tag
    if tag == 6:
        exif[0x8769] = {0x9003: "2026:03:04 07:41:00"}
        exif[0x8825] = {1: "N", 2: (10.0, 30.0, 0.0), 3: "W", 4: (20.0, 15.0, 36.0)}
    stored.save(HERE / f"turned-{tag}.jpg", quality=92, exif=exif)
