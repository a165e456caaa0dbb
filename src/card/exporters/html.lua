-- HTML data sheet of one page for people, in SI or cgs units (--set units=cgs)
--
-- One file without scripts or links: HTML 5, picture as inline SVG with title and description, tables
-- with captions and headed rows, light and dark by the reader's wish. The only export with a choice of
-- units: 1 A/m = 4 pi/1000 Oe, 1 T = 10 kG, 1 J/m3 = 10 erg/cm3.
local is_cgs = option("units", "si", {"si", "cgs"}) == "cgs"

local function escape(text)
    return (plain(text):gsub('[&<>"\']', {["&"] = "&amp;", ["<"] = "&lt;", [">"] = "&gt;",
        ['"'] = "&quot;", ["'"] = "&#39;"}))
end

-- Ending of a key, to what people read: factor and unit in SI, factor and unit in cgs.
local units = {
    {"_A_per_m", 1e-3, "kA/m", 4e-3 * math.pi, "Oe"},
    {"_J_per_m3", 1e-3, "kJ/m³", 10, "erg/cm³"},
    {"_W_per_m3", 1e-3, "kW/m³", 1e-3, "kW/m³"},
    {"_W_per_kg", 1, "W/kg", 1, "W/kg"},
    {"_T", 1, "T", 10, "kG"},
    {"_deg", 1, "°", 1, "°"},
    {"_Hz", 1, "Hz", 1, "Hz"},
}

local function find_unit(key)
    for _, unit in ipairs(units) do
        if key:sub(-#unit[1]) == unit[1] then
            return is_cgs and unit[4] or unit[2], is_cgs and unit[5] or unit[3]
        end
    end
    return 1, ""
end

-- As many digits as u has two of; without one, five.
local function show(value, u)
    if value == 0 then
        return "0"
    end
    local last = u and u > 0 and math.floor(math.log(u, 10)) - 1
        or math.floor(math.log(math.abs(value), 10)) - 4
    if last >= 0 then
        return ("%.0f"):format(math.floor(value / 10 ^ last + 0.5) * 10 ^ last)
    end
    return ("%." .. math.min(12, -last) .. "f"):format(value)
end

local names = {
    {"remanence_T", "Remanence B<sub>r</sub>"},
    {"coercivity_A_per_m", "Coercivity H<sub>cB</sub>"},
    {"coercivity_J_A_per_m", "Coercivity H<sub>cJ</sub>"},
    {"field_peak_A_per_m", "Peak field strength H<sub>m</sub>"},
    {"flux_density_peak_T", "Peak flux density B<sub>m</sub>"},
    {"loop_area_J_per_m3", "Loop area W, energy lost in each cycle"},
    {"specific_loss_W_per_kg", "Specific total loss"},
    {"frequency_Hz", "Frequency"},
    {"lag_angle_deg", "Lag angle δ"},
    {"amplitude_permeability", "Amplitude permeability µ<sub>a</sub>, relative"},
    {"squareness", "Squareness B<sub>r</sub>/B<sub>m</sub>"},
    {"loop_fullness", "Loop fullness W/(4 H<sub>m</sub>B<sub>m</sub>)"},
}

local function open_table(caption, ...)
    local cells = {}
    for i = 1, select("#", ...) do
        cells[i] = '<th scope="col">' .. select(i, ...) .. "</th>"
    end
    return "<table>\n<caption>" .. caption .. "</caption>\n<thead><tr>" .. table.concat(cells)
        .. "</tr></thead>\n<tbody>\n"
end

local function row(head, ...)
    local cells = {'<tr><th scope="row">' .. head .. "</th>"}
    for i = 1, select("#", ...) do
        table.insert(cells, "<td>" .. select(i, ...) .. "</td>")
    end
    return table.concat(cells) .. "</tr>\n"
end

local function write_figures()
    local rows = {open_table("Figures of the largest loop", "Quantity", "Value",
        "Standard uncertainty", "Unit")}
    for _, entry in ipairs(names) do
        local value, u = card.figures[entry[1]], card.figures["u_" .. entry[1]]
        if value then
            local factor, unit = find_unit(entry[1])
            u = u and u * factor
            table.insert(rows, row(entry[2], show(value * factor, u), u and u > 0 and show(u, u) or "–",
                unit == "" and "1" or unit))
        end
    end
    return table.concat(rows) .. "</tbody>\n</table>\n"
end

local function write_curve()
    local curve = card.normal_curve
    if not curve then
        return ""
    end
    local h_factor, h_unit = find_unit("x_A_per_m")
    local b_factor, b_unit = find_unit("x_T")
    local rows = {open_table("Normal curve: tips of the loops", "Peak field (" .. h_unit .. ")",
        "Peak flux density (" .. b_unit .. ")")}
    for i = 1, #curve.field_peak_A_per_m do
        table.insert(rows, row(show(curve.field_peak_A_per_m[i] * h_factor),
            show(curve.flux_density_peak_T[i] * b_factor)))
    end
    return table.concat(rows) .. "</tbody>\n</table>\n"
end

local function write_losses()
    local rows = {}
    local factor, unit = find_unit("x_J_per_m3")
    local b_factor, b_unit = find_unit("x_T")
    for _, part in ipairs(card.separation or {}) do
        local peak = part.flux_density_peak_T or part.polarization_peak_T
        if part.hysteresis_J_per_m3 then
            table.insert(rows, row(show(peak * b_factor), show(part.hysteresis_J_per_m3 * factor,
                part.u_hysteresis_J_per_m3 and part.u_hysteresis_J_per_m3 * factor)))
        end
    end
    if #rows == 0 then
        return ""
    end
    return open_table("Hysteresis energy of each cycle", "Peak (" .. b_unit .. ")",
        "Energy (" .. unit .. ")") .. table.concat(rows) .. "</tbody>\n</table>\n"
end

-- --- the picture ---------------------------------------------------------------------------------

local WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 640, 440, 64, 16, 14, 48

local function step_of(range)
    local power = 10 ^ math.floor(math.log(range / 4, 10))
    for _, factor in ipairs {1, 2, 5, 10} do
        if range / (factor * power) <= 8 then
            return factor * power
        end
    end
end

local function tick(value, step)
    return (("%." .. math.max(0, math.ceil(-math.log(step, 10) - 1e-9)) .. "f"):format(value)
        :gsub("^%-", "−"))
end

local function draw()
    local rising, falling = part("major_loop.rising"), part("major_loop.falling")
    if not rising or not falling then
        return ""
    end
    local h_factor, h_unit = find_unit("x_A_per_m")
    local b_factor, b_unit = find_unit("x_T")
    local h_most = rising.field_A_per_m[#rising.field_A_per_m] * h_factor * 1.05
    local b_most = rising.flux_density_T[#rising.flux_density_T] * b_factor * 1.08
    local function x_of(h)
        return LEFT + (h / h_most + 1) / 2 * (WIDTH - LEFT - RIGHT)
    end
    local function y_of(b)
        return TOP + (1 - b / b_most) / 2 * (HEIGHT - TOP - BOTTOM)
    end
    local lines = {}
    local function line(kind, x1, y1, x2, y2)
        table.insert(lines, ('<line class="%s" x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f"/>\n')
            :format(kind, x1, y1, x2, y2))
    end
    local function word(x, y, anchor, text)
        table.insert(lines, ('<text x="%.1f" y="%.1f" text-anchor="%s">%s</text>\n')
            :format(x, y, anchor, text))
    end
    local function path(kind, fields, fluxes)
        local points = {}
        for i = 1, #fields do
            points[i] = ("%.1f,%.1f"):format(x_of(fields[i] * h_factor), y_of(fluxes[i] * b_factor))
        end
        table.insert(lines, ('<polyline class="%s" points="%s"/>\n'):format(kind,
            table.concat(points, " ")))
    end
    local h_step, b_step = step_of(2 * h_most), step_of(2 * b_most)
    for i = -math.floor(h_most / h_step), math.floor(h_most / h_step) do
        line("grid", x_of(i * h_step), TOP, x_of(i * h_step), HEIGHT - BOTTOM)
        word(x_of(i * h_step), HEIGHT - BOTTOM + 18, "middle", tick(i * h_step, h_step))
    end
    for i = -math.floor(b_most / b_step), math.floor(b_most / b_step) do
        line("grid", LEFT, y_of(i * b_step), WIDTH - RIGHT, y_of(i * b_step))
        word(LEFT - 8, y_of(i * b_step) + 4, "end", tick(i * b_step, b_step))
    end
    line("axis", LEFT, y_of(0), WIDTH - RIGHT, y_of(0))
    line("axis", x_of(0), TOP, x_of(0), HEIGHT - BOTTOM)
    for _, loop in ipairs(card.loops or {}) do
        if loop.rising and loop.falling then
            path("minor", loop.rising.field_A_per_m, loop.rising.flux_density_T)
            path("minor", loop.falling.field_A_per_m, loop.falling.flux_density_T)
        end
    end
    if card.normal_curve then
        path("normal", card.normal_curve.field_peak_A_per_m, card.normal_curve.flux_density_peak_T)
    end
    path("major", rising.field_A_per_m, rising.flux_density_T)
    path("major", falling.field_A_per_m, falling.flux_density_T)
    word((LEFT + WIDTH - RIGHT) / 2, HEIGHT - 8, "middle", "H (" .. h_unit .. ")")
    table.insert(lines, ('<text transform="translate(18 %.1f) rotate(-90)" text-anchor="middle">'
        .. "B (%s)</text>\n"):format((TOP + HEIGHT - BOTTOM) / 2, b_unit))
    local figures = card.figures
    local words = "Closed loops of flux density against field strength."
    if figures.remanence_T and figures.coercivity_A_per_m then
        words = ("%s The largest crosses zero field at %s %s and zero flux density at %s %s."):format(
            words, show(figures.remanence_T * b_factor), b_unit,
            show(figures.coercivity_A_per_m * h_factor), h_unit)
    end
    return ('<figure>\n<svg viewBox="0 0 %d %d" role="img" aria-labelledby="loop-title loop-words">\n'
        .. '<title id="loop-title">B–H loops</title>\n<desc id="loop-words">%s</desc>\n'):format(WIDTH,
        HEIGHT, words) .. table.concat(lines) .. "</svg>\n<figcaption>" .. words
        .. (card.normal_curve and " Dashed: the normal curve." or "") .. "</figcaption>\n</figure>\n"
end

-- --- the page ------------------------------------------------------------------------------------

local style = [[
:root { color-scheme: light dark; }
body { font: 15px/1.45 system-ui, sans-serif; max-width: 46rem; margin: 1.5rem auto; padding: 0 1rem;
    background: Canvas; color: CanvasText; overflow-wrap: anywhere; }
h1 { font-size: 1.5rem; margin: 0; } h2 { font-size: 1.1rem; margin: 1.4rem 0 .4rem; }
table { border-collapse: collapse; margin: .8rem 0; } caption { text-align: left; font-weight: 600; }
th, td { padding: .15rem .8rem .15rem 0; text-align: left; font-weight: normal; }
thead th { border-bottom: 1px solid; } td { font-variant-numeric: tabular-nums; }
figure { margin: 1rem 0; } svg { width: 100%; height: auto; font-size: 13px; } svg text { fill: currentColor; }
svg line, svg polyline { fill: none; stroke: currentColor; }
.grid { opacity: .15; } .axis { opacity: .6; } .minor { opacity: .35; } .major { stroke-width: 2.2; }
.normal { stroke-dasharray: 5 4; } ul { padding-left: 1.2rem; }
@media (max-width: 30rem) { body { font-size: 13px; } th, td { padding-right: .4rem; } }
@media print { body { font-size: 11px; margin: 0; max-width: none; } figure { max-width: 14cm; } }
]]

local function write_identity()
    local identity, rows = card.identity or {}, {}
    for _, entry in ipairs {{"alloy", "Alloy"}, {"supplier", "Supplier"}, {"heat", "Heat"},
        {"condition", "Condition"}} do
        if identity[entry[1]] then
            table.insert(rows, row(entry[2], escape(identity[entry[1]])))
        end
    end
    local rings = {}
    for _, name in ipairs(identity.specimens or {}) do
        table.insert(rings, escape(name))
    end
    if #rings > 0 then
        table.insert(rows, row("Specimens", table.concat(rings, ", ")))
    end
    if card.date then
        table.insert(rows, row("Date", escape(card.date)))
    end
    return #rows == 0 and "" or "<table>\n<caption>The steel</caption>\n<tbody>\n" .. table.concat(rows)
        .. "</tbody>\n</table>\n"
end

local function write_notes()
    local notes = {}
    for _, note in ipairs(card.notes or {}) do
        table.insert(notes, "<li>" .. escape(note.level) .. ", " .. escape(note.code) .. ": "
            .. escape(note.message) .. "</li>\n")
    end
    return #notes == 0 and "" or "<h2>Notes</h2>\n<ul>\n" .. table.concat(notes) .. "</ul>\n"
end

local function write_statement()
    local lines = statement("none: measured points and figures",
        "fitted models, tables of the loops, the captures: they are in the card")
    local items = {}
    for i = 2, #lines do
        local line = lines[i]
        if line:find("^units: ") then
            line = "units: " .. (is_cgs and "cgs (H in Oe, B in kG, energy in erg/cm³ per cycle)"
                or "SI (H in kA/m, B in T, energy in kJ/m³ per cycle)")
        end
        items[i - 1] = "<li>" .. escape(line) .. "</li>\n"
    end
    return '<h2>This sheet</h2>\n<ul>\n<li>from the material card <code>' .. escape(about.file)
        .. "</code></li>\n" .. table.concat(items) .. "</ul>\n"
end

local name = escape(card.name or "unnamed steel")
return {
    '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n',
    '<meta name="viewport" content="width=device-width, initial-scale=1">\n<title>' .. name
        .. " – data sheet</title>\n<style>\n" .. style .. "</style>\n</head>\n<body>\n<main>\n",
    "<h1>" .. name .. "</h1>\n",
    write_identity(), draw(), write_figures(), write_curve(), write_losses(), write_notes(),
    write_statement(),
    "</main>\n</body>\n</html>\n",
}
