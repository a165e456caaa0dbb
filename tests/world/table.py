# SPDX-License-Identifier: GPL-3.0-or-later
"""Logger tables in the dialects that loggers and spreadsheets write.

A dialect is a dictionary; everything is optional:
    separator   "," (default) ";" "\\t" " "        decimal   "." (default) ","
    digits      significant digits of the values (17)
    time        how the time is given: "column" (default), "ms", "none" (timing must tell the rate),
                "clock" (hh:mm:ss.sss, past midnight), "date" (ISO 8601)
    time_format printf format of the times ("%.12g")
    units       "header" (default): name (unit); "bracket": name [unit]; "row": a second row;
                "underscore": name_unit
    prefix      (unit text, factor) of either value column, e.g. ("mV", 1e-3)
    encoding    "utf-8", "utf-8-sig", "utf-16", "latin-1"      newline   "\\n" or "\\r\\n"
    preamble    free lines ahead of the header                 order     "t12" (default), "2t1", ...
    blank       row numbers whose pickup cell is left empty; `text` stands there instead
    drop        row numbers left out altogether
    timing      lines for the timing section of rig.yaml
"""
import numpy as np

NAMES = {"voltage": ("U1", "U2", "V"), "current": ("current", "", "A"),
         "field strength": ("field strength", "", "A/m"),
         "flux linkage": ("", "flux linkage", "Wb"), "flux density": ("", "flux density", "T"),
         "polarization": ("", "polarization", "T")}


def print_time(time, dialect):
    """One cell of the time column. Clocks begin 5 s before midnight, in steps of a millisecond."""
    if dialect.get("time") not in ("clock", "date"):
        return dialect.get("time_format", "%.12g") % time
    seconds, milli = divmod(round((time + 24 * 3600 - 5) * 1000), 1000)
    day, seconds = divmod(seconds, 24 * 3600)
    clock = "%02d:%02d:%02d.%03d" % (seconds // 3600, seconds // 60 % 60, seconds % 60, milli)
    return clock if dialect["time"] == "clock" else "2024-02-%02dT%s" % (28 + day, clock)


def header_cell(name, unit, style):
    if unit is None:
        return name
    forms = {"header": "%s (%s)", "bracket": "%s [%s]", "underscore": "%s_%s"}
    return forms[style] % (name, unit) if style in forms else name


def write(path, case, values):
    """Writes the table; gives the header references of the two value columns."""
    d = case.dialect
    separator, decimal = d.get("separator", ","), d.get("decimal", ".")
    style, digits = d.get("units", "header"), d.get("digits", 17)
    quantities = (case.rig["excitation"], case.rig["pickup"])
    columns, names, units = {}, {}, {}
    for i, quantity in enumerate(quantities):
        key = str(i + 1)
        unit, factor = d.get("prefix", {}).get(i, (NAMES[quantity][2], 1.0))
        names[key], units[key] = NAMES[quantity][i], unit
        columns[key] = [f"%.{digits}g" % v for v in np.asarray(values[i]) / factor]
    times = case.times if case.times is not None else np.arange(case.frames) / case.rate
    names["t"], units["t"] = "time", "ms" if d.get("time") == "ms" else "s"
    scale = 1e3 if d.get("time") == "ms" else 1.0
    columns["t"] = [print_time(t * scale, d) for t in times]
    if d.get("time") in ("clock", "date"):
        units["t"] = None
    order = d.get("order", "t12")
    if d.get("time") == "none":
        order = order.replace("t", "")
    for row in d.get("blank", ()):
        columns["2"][row] = d.get("text", "")
    head = [header_cell(names[key], units[key], style) for key in order]
    lines = list(d.get("preamble", ())) + [separator.join(head)]
    if style == "row":
        lines.append(separator.join(units[key] for key in order))
    dropped = set(d.get("drop", ()))
    for row in range(case.frames):
        if row not in dropped:
            cells = [columns[key][row] for key in order]
            lines.append(separator.join(cell.replace(".", decimal) for cell in cells))
    newline = d.get("newline", "\n")
    with open(path, "w", encoding=d.get("encoding", "utf-8"), newline="") as out:
        out.write(newline.join(lines) + newline)
    return names["1"], names["2"]
