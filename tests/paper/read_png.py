#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Read a PNG with Pillow and measure it in millimetres, x to the right and y up.

read_png.py FILE [LEFT BOTTOM RIGHT TOP]...
  size WIDTH HEIGHT                     pixels
  dpi X Y                               as the file says
  inked SHARE LEFT BOTTOM RIGHT TOP     for each window given: how much of it is black (1: all),
                                        and the box around all pixels darker than half (of none:
                                        noughts)
"""
import sys

try:
    from PIL import Image
except ImportError:
    sys.exit("read_png.py: there is no Pillow; install Debian's python3-pil")


def measure(image, dpi, window):
    unit = dpi / 25.4
    left, bottom, right, top = window
    corner = round(left * unit), image.height - round(top * unit)
    part = image.crop(corner + (round(right * unit), image.height - round(bottom * unit)))
    ink = part.point(lambda level: 255 - level)
    levels = ink.histogram()
    share = sum(level * count for level, count in enumerate(levels)) / 255 / sum(levels)
    found = ink.point(lambda level: 255 if level > 127 else 0).getbbox()
    if not found:
        return share, 0, 0, 0, 0
    x1, y1, x2, y2 = found
    return (share, (corner[0] + x1) / unit, (image.height - corner[1] - y2) / unit,
            (corner[0] + x2) / unit, (image.height - corner[1] - y1) / unit)


def main():
    Image.MAX_IMAGE_PIXELS = None
    image = Image.open(sys.argv[1])
    dpi = image.info.get("dpi", (0, 0))
    print("size", image.width, image.height)
    print("dpi", *dpi)
    image = image.convert("L")
    window = [float(word) for word in sys.argv[2:]]
    for first in range(0, len(window), 4):
        print("inked", *(f"{value:.6f}" for value in
                         measure(image, dpi[0], window[first:first + 4])))


if __name__ == "__main__":
    main()
