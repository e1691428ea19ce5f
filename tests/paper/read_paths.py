#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Read the paths of an SVG, or of a page of a PDF by poppler, in millimetres, x to the right and
y up.

read_paths.py FILE.svg
read_paths.py FILE.pdf PAGE
  page WIDTH HEIGHT
  line WIDTH x1 y1 x2 y2 ...            a stroked path of straight lines; WIDTH of the pen
  curve WIDTH left bottom right top     a stroked path with curves: the box around it
  area LEVEL left bottom right top      a filled path, 0 black ... 1 white: the box around it
Letters are left out. What these sheets do not use is not understood.
"""
import re
import subprocess
import sys
import xml.etree.ElementTree

MILLIMETRES = {"mm": 1, "pt": 25.4 / 72, "px": 25.4 / 96, "": 25.4 / 96}
SVG = "{http://www.w3.org/2000/svg}"


def length(text):
    number, unit = re.fullmatch(r"([0-9.]+)([a-z]*)", text).groups()
    return float(number) * MILLIMETRES[unit]


def product(a, b):
    """The transform b followed by a; each is x' = t0 x + t2 y + t4, y' = t1 x + t3 y + t5."""
    return (a[0] * b[0] + a[2] * b[1], a[1] * b[0] + a[3] * b[1],
            a[0] * b[2] + a[2] * b[3], a[1] * b[2] + a[3] * b[3],
            a[0] * b[4] + a[2] * b[5] + a[4], a[1] * b[4] + a[3] * b[5] + a[5])


def transform_of(element):
    text = element.get("transform")
    if not text:
        return (1, 0, 0, 1, 0, 0)
    return tuple(float(word) for word in re.fullmatch(r"matrix\((.*)\)", text)[1].split(","))


def bezier(points, steps=64):
    for i in range(1, steps + 1):
        t = i / steps
        weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t ** 3)
        yield tuple(sum(w * p[axis] for w, p in zip(weights, points)) for axis in (0, 1))


def subpaths(text):
    """Points of each subpath, and whether it is curved."""
    words = re.findall(r"[MLCHVZ]|-?[0-9.]+(?:e-?[0-9]+)?", text)
    points, curved, i = [], False, 0
    while i < len(words):
        command = words[i]
        count = {"M": 2, "L": 2, "C": 6, "H": 1, "V": 1, "Z": 0}[command]
        value = [float(word) for word in words[i + 1:i + 1 + count]]
        i += 1 + count
        if command == "M":
            if len(points) > 1:
                yield points, curved
            points, curved = [tuple(value)], False
        elif command == "L":
            points.append(tuple(value))
        elif command == "H":
            points.append((value[0], points[-1][1]))
        elif command == "V":
            points.append((points[-1][0], value[0]))
        elif command == "C":
            curved = True
            points.extend(bezier([points[-1], value[0:2], value[2:4], value[4:6]]))
        elif command == "Z":
            points.append(points[0])
    if len(points) > 1:
        yield points, curved


def properties(element):
    found = dict(part.split(":", 1) for part in element.get("style", "").split(";") if part)
    found.update(element.attrib)
    return {name: value.strip() for name, value in found.items()}


def level(colour):
    return float(re.search(r"([0-9.]+)%", colour)[1]) / 100 if "%" in colour else 0.0


def box(points):
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def show_path(element, transform):
    style = properties(element)
    stroked = style.get("stroke", "none") != "none"
    scale = abs(transform[0] * transform[3] - transform[1] * transform[2]) ** 0.5
    for points, curved in subpaths(element.get("d")):
        on_page = [(transform[0] * x + transform[2] * y + transform[4],
                    transform[1] * x + transform[3] * y + transform[5]) for x, y in points]
        if stroked and not curved:
            kind, values = "line", [part for point in on_page for part in point]
        else:
            kind, values = "curve" if stroked else "area", box(on_page)
        first = float(style["stroke-width"]) * scale if stroked else level(style.get("fill", ""))
        print(kind, *(f"{value:.6f}" for value in [first, *values]))


def show(element, transform):
    transform = product(transform, transform_of(element))
    if element.tag == SVG + "path":
        show_path(element, transform)
    elif element.tag in (SVG + "g", SVG + "svg"):
        for part in element:
            show(part, transform)


def read(path, page):
    if not path.endswith(".pdf"):
        with open(path, encoding="utf-8") as file:
            return file.read()
    # Without these it makes pages smaller whose size is no whole number of points, and moves them.
    as_it_is = ["-noshrink", "-nocenter"]
    command = ["pdftocairo", "-svg", *as_it_is, "-f", page, "-l", page, path, "-"]
    try:
        return subprocess.run(command, check=True, capture_output=True).stdout.decode()
    except FileNotFoundError:
        return sys.exit("read_paths.py: there is no pdftocairo; install Debian's poppler-utils")


def main():
    root = xml.etree.ElementTree.fromstring(read(sys.argv[1], sys.argv[2] if sys.argv[2:] else ""))
    width, height = length(root.get("width")), length(root.get("height"))
    left, top, across, down = (float(word) for word in root.get("viewBox").split())
    print("page", f"{width:.6f} {height:.6f}")
    x, y = width / across, height / down
    show(root, (x, 0, 0, -y, -left * x, height + top * y))


if __name__ == "__main__":
    main()
