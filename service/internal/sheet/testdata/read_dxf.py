# Reads drawings with ezdxf and prints, for each a line FILE, then a line for each entity of the layer CUT with its numbers, or what is wrong.
import sys

import ezdxf

for name in sys.argv[1:]:
    print("FILE")
    drawing = ezdxf.readfile(name)
    audit = drawing.audit()
    if audit.errors or audit.fixes or drawing.header["$INSUNITS"] != 4:
        sys.exit(f"{name}: {audit.errors} {audit.fixes} {drawing.header['$INSUNITS']}")
    for e in drawing.modelspace():
        d = e.dxf
        if d.layer != "CUT":
            continue
        if e.dxftype() == "ARC":
            print("ARC", d.center.x, d.center.y, d.radius, e.start_point.x, e.start_point.y, e.end_point.x, e.end_point.y)
        elif e.dxftype() == "LINE":
            print("LINE", d.start.x, d.start.y, d.end.x, d.end.y)
        else:
            sys.exit(f"{name}: a {e.dxftype()}")
