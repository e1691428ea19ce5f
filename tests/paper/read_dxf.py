#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Read a DXF with ezdxf and print what is in it, one thing a line.

read_dxf.py FILE
  version AC1009
  unit 4                                the header's code; 4 is millimetres
  layer NAME COLOUR
  linetype NAME PATTERN...              total length, dashes and gaps
  LINE LAYER LINETYPE x1 y1 x2 y2
  CIRCLE LAYER LINETYPE x y radius
  ARC LAYER LINETYPE x y radius from to            angles in degrees
  POLYLINE LAYER LINETYPE closed x1 y1 x2 y2 ...
  TEXT LAYER HEIGHT ROTATION ACROSS UP x y sx sy text
                                        x y: the point it is aligned to; sx sy: where it starts
A file that ezdxf finds faults with is an error.
"""
import sys

try:
    import ezdxf
except ImportError:
    sys.exit("read_dxf.py: there is no ezdxf; install Debian's python3-ezdxf")


def numbers(*values):
    return " ".join(f"{value:.9f}" for value in values)


def show_tables(document):
    print("version", document.dxfversion)
    print("unit", document.header.get("$INSUNITS"))
    for layer in document.layers:
        print("layer", layer.dxf.name, layer.dxf.color)
    for linetype in document.linetypes:
        lengths = [tag.value for tag in linetype.pattern_tags.tags if tag.code in (40, 49)]
        print("linetype", linetype.dxf.name, numbers(*lengths))


def show(entity):
    dxf, kind = entity.dxf, entity.dxftype()
    head = f"{kind} {dxf.layer} {dxf.linetype}"
    if kind == "LINE":
        print(head, numbers(dxf.start.x, dxf.start.y, dxf.end.x, dxf.end.y))
    elif kind == "CIRCLE":
        print(head, numbers(dxf.center.x, dxf.center.y, dxf.radius))
    elif kind == "ARC":
        print(head, numbers(dxf.center.x, dxf.center.y, dxf.radius, dxf.start_angle,
                            dxf.end_angle))
    elif kind == "POLYLINE":
        corners = [part for point in entity.points() for part in (point.x, point.y)]
        print(head, int(entity.is_closed), numbers(*corners))
    elif kind == "TEXT":
        at = dxf.align_point if dxf.halign or dxf.valign else dxf.insert
        dxf.text = ezdxf.decode_dxf_unicode(dxf.text)
        print(kind, dxf.layer, numbers(dxf.height, dxf.rotation), dxf.halign, dxf.valign,
              numbers(at.x, at.y, dxf.insert.x, dxf.insert.y), entity.plain_text())
    else:
        sys.exit(f"read_dxf.py: a {kind}, which is not expected")


def main():
    document = ezdxf.readfile(sys.argv[1])
    faults = document.audit()
    for fault in list(faults.errors) + list(faults.fixes):
        print("fault", fault.message)
    show_tables(document)
    for entity in document.modelspace():
        show(entity)
    return 1 if faults.errors or faults.fixes else 0


if __name__ == "__main__":
    sys.exit(main())
