-- Modelica record: branches, normal curve and figures as constants
--
-- Modelica language specification 3.4: sections 4.4 (component declarations), 10.4 (array
-- constructors: rows of a matrix are parted by semicolons), 13.2 (a unit is an attribute of its
-- type). Tables have H (A/m) in the first column and B (T) in the second, as the table-based
-- hysteresis and curves of magnetic component libraries take them.
local name = identifier(option("name", card.name or "steel"))

local function matrix(word, graph, meaning)
    local rows = {}
    for i = 1, #graph.field_A_per_m do
        rows[i] = number(graph.field_A_per_m[i]) .. ", " .. number(graph.flux_density_T[i])
    end
    return ('  constant Real %s[:, 2] = [\n%s] "%s: H in A/m, B in T";\n'):format(word,
        wrap(rows, "; ", "    "), meaning)
end

local function constant(word, value, unit, meaning)
    if not value then
        return ""
    end
    return ('  constant Real %s(unit = "%s") = %s "%s";\n'):format(word, unit, number(value), meaning)
end

local figures = card.figures or {}
local pieces = {
    comment("//", "tables: " .. (part("solver.curve") and "solver.curve is " ..
        plain(card.solver.curve.kind) .. ", " .. plain(card.solver.curve.method) or "as measured"),
        "fitted models, loops other than the major one, loss separation, provenance"),
    ('record %s "%s"\n'):format(name, quoted(card.name or "")),
    ('  constant String card_sha256 = "%s" "of the material card";\n'):format(about.sha256),
    constant("remanence", figures.remanence_T, "T", "remanence of the major loop"),
    constant("coercivity", figures.coercivity_A_per_m, "A/m", "coercivity HcB of the major loop"),
    constant("loop_area", figures.loop_area_J_per_m3, "J/m3", "area of the major loop"),
    constant("sigma", part("steel.resistivity_ohm_m") and 1 / card.steel.resistivity_ohm_m, "S/m",
        "conductivity"),
    constant("density", part("steel.density_kg_per_m3"), "kg/m3", "density"),
}
if part("solver.curve") then
    local field, flux = resample(card.solver.curve, 1e-4)
    table.insert(pieces, matrix("curve", {field_A_per_m = field, flux_density_T = flux},
        "single-valued curve"))
end
if part("major_loop.rising") then
    table.insert(pieces, matrix("rising", card.major_loop.rising, "rising branch"))
    table.insert(pieces, matrix("falling", need("major_loop.falling"), "falling branch"))
end
table.insert(pieces, ("end %s;\n"):format(name))
return pieces
