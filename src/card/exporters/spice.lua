-- ngspice subcircuits of a wound ring: single-valued, Jiles-Atherton, and from the measured branches
--
-- What ngspice demands (manual of version 39):
--   chapter "B source": an expression's pwl() keeps its last value outside its points, so that the
--     curves here go on to 10 MA/m with the slope of empty space; x must rise strictly.
--   chapter "Subcircuits": parameters on the .subckt line, changed in the call:
--     X1 in 0 NAME_curve turns=100
--   Nodes are voltages: H stands in kA/m and M in kA/m, B in T, so that all are of the size that the
--     default tolerances expect. dH/dt is the current of a capacitor of 1 F; dB/dt is computed from it
--     with dB/dH, since the current of a capacitor that carries B would ring at every kink.
--   Sign: a current into the first node makes H positive; the voltage over the ring is
--     turns * area * dB/dt, against the current (passive sign). Winding resistance: a resistor outside.
--   The ring starts demagnetized: let sources begin at zero.
--   The largest step of .tran must be given: a thousandth of the period or less.
local name = identifier(option("name", card.name or "steel"))
local ring = find_ring()
ring.turns = number_option("turns", ring.turns or 100, 1)
ring.area_m2 = number_option("area", ring.area_m2 or 1e-4, 1e-9)
ring.length_m = number_option("length", ring.length_m or 0.1, 1e-6)

local FAR = 1e7 -- A/m

-- A pwl() of `values` against the node h, which stands in kA/m.
local function pwl(field, values)
    local points, last = {}, -math.huge
    for i = 1, #field do
        if field[i] - last > 1e-9 * math.abs(field[#field]) then
            table.insert(points, ("%.12g,%.12g"):format(field[i] / 1000, values[i]))
            last = field[i]
        end
    end
    return "pwl(v(h),\n" .. wrap(points, ", ", "+ ", 90) .. ")"
end

-- B and dB/dH against H as two such texts, with the slope of empty space outside.
local function curves(graph, is_odd)
    local field, flux, slope = resample(graph, 1e-4)
    local all = {{}, {}, {}}
    local function add(h, b, s)
        table.insert(all[1], h)
        table.insert(all[2], b)
        table.insert(all[3], s)
    end
    local last = #field
    if is_odd then
        add(-field[last] - FAR, -flux[last] - MU0 * FAR, MU0)
        for i = last, 2, -1 do
            add(-field[i], -flux[i], slope[i])
        end
    else
        add(field[1] - FAR, flux[1] - MU0 * FAR, MU0)
        add(field[1] - 1, flux[1] - MU0, MU0)
    end
    for i = 1, last do
        add(field[i], flux[i], slope[i])
    end
    add(field[last] + 1, flux[last] + MU0, MU0)
    add(field[last] + FAR, flux[last] + MU0 * FAR, MU0)
    return pwl(all[1], all[2]), pwl(all[1], all[3])
end

local function fill(text, words)
    return (text:gsub("%u%u%u+", words))
end

-- `body` makes the node s, dB/dH in uT/(A/m), from h and dH/dt, which is i(Vh) in kA/(m s).
local function subcircuit(kind, purpose, body)
    local words = {NAME = name, KIND = kind, TURNS = number(ring.turns),
        AREA = number(ring.area_m2), LENGTH = number(ring.length_m)}
    return "\n* " .. purpose .. "\n" .. fill([[
.subckt NAME_KIND p n turns=TURNS area=AREA length=LENGTH
Vcurrent p x 0
Bfield h 0 V=turns*i(Vcurrent)/length*1e-3
Ch h hs 1
Vh hs 0 0
]], words) .. body .. fill([[
Bvoltage x n V=turns*area*1e-3*v(s)*i(Vh)
.ends NAME_KIND
]], words)
end

local function scaled(expression)
    return "1e6*" .. expression
end

local function write_curve()
    local flux, slope = curves(need("solver.curve"), true)
    return subcircuit("curve", "single-valued: no hysteresis, no loss", "Bs s 0 V=" .. scaled(slope)
        .. "\n* for looking at: B in T\nBb b 0 V=" .. flux .. "\n")
end

-- dM/dH of the three published forms; their irreversible part rests where it would run backwards.
local slopes = {
    ["jiles-atherton-field"] = [[
Bf f 0 V=max(0,v(d)*(v(man)-v(m)))/{k}+{c}*v(dman)
Bchi chi 0 V=v(f)/max(1e-3,1-{alpha}*v(f))
]],
    ["jiles-atherton-1992"] = [[
Blag lag 0 V=(v(man)-v(m))/(1-{c})
Bf f 0 V=v(d)*v(lag)>0 ? abs(v(lag))/max(1e-3*{k},{k}-{alpha}*abs(v(lag))) : 0
Bchi chi 0 V=((1-{c})*v(f)+{c}*v(dman))/(1-{c}*{alpha}*v(dman))
]],
    ["jiles-atherton-1986"] = [[
Blag lag 0 V=v(man)-v(m)
Bf f 0 V=v(d)*v(lag)>0 ? abs(v(lag))/max(1e-3*{k},{k}-{alpha}*abs(v(lag))) : 0
Bchi chi 0 V=((1-{c})*v(f)+{c}*v(dman))/(1-{c}*{alpha}*v(dman))
]],
}

local function write_jiles_atherton(model)
    local p = model.parameters
    local c = p.reversibility
    if model.name == "jiles-atherton-1986" then
        c = c / (1 + c)
    end
    local body = ([[
.param Ms=%s a=%s k=%s c=%s alpha=%s
Bd d 0 V=i(Vh)<0 ? -1 : 1
Be e 0 V=(v(h)+{alpha}*v(m))/{a}
Bman man 0 V={Ms}*(abs(v(e))<0.01 ? v(e)/3-v(e)^3/45 : 1/tanh(v(e))-1/v(e))
Bdman dman 0 V={Ms/a}*(abs(v(e))<0.01 ? 1/3-v(e)^2/15 : (abs(v(e))>30 ? 1/v(e)^2 :
+ 1/v(e)^2-1/sinh(v(e))^2))
%sBm 0 m I=i(Vh)*v(chi)
Cm m 0 1
Rm m 0 1e12
Bs s 0 V=%s*(1+v(chi))
* for looking at: B in T
Bb b 0 V=%s*(v(h)+v(m))
]]):format(number(p.saturation_A_per_m / 1e3), number(p.shape_A_per_m / 1e3),
        number(p.pinning_A_per_m / 1e3), number(c), number(p.coupling), slopes[model.name],
        number(MU0 * 1e6), number(MU0 * 1e3))
    return subcircuit("jiles_atherton", "hysteresis by " .. plain(model.name)
        .. ", starts demagnetized", body)
end

-- C. Tellinen, IEEE Trans. Magn. 34 (1998) 2200: db/dH = (b' - b)/(b' - b") db"/dH, where b" is the
-- branch that H runs along and b' the other.
local function write_branches()
    local rising, rising_slope = curves(need("solver.rising"))
    local falling, falling_slope = curves(need("solver.falling"))
    local flux = card.solver.rising.flux_density_T
    local body = "Br r 0 V=" .. rising .. "\nBf f 0 V=" .. falling
        .. "\nBrs rs 0 V=" .. scaled(rising_slope) .. "\nBfs fs 0 V=" .. scaled(falling_slope)
        .. "\n" .. ([[
Bs s 0 V=max(MU,i(Vh)<0 ? v(fs)*(v(b)-v(r)+EPS)/(v(f)-v(r)+EPS) :
+ v(rs)*(v(f)-v(b)+EPS)/(v(f)-v(r)+EPS))
* B in T
Bb 0 b I=1e-3*v(s)*i(Vh)
Cb b 0 1
Rb b 0 1e12
]]):gsub("%u%u%u?", {EPS = number(1e-4 * flux[#flux]), MU = number(MU0 * 1e6)})
    return subcircuit("branches",
        "hysteresis by Tellinen's rule on the measured branches, starts demagnetized", body)
end

local model = find_model("jiles-atherton-field") or find_model("jiles-atherton-1992")
    or find_model("jiles-atherton-1986")
local has_branches = part("solver.rising") and part("solver.falling")
local kinds, missing = {name .. "_curve"}, {}
if model then
    table.insert(kinds, name .. "_jiles_atherton (" .. plain(model.form)
        .. ", relative misfit to the measured loops " .. ("%.2g"):format(model.residual_relative) .. ")")
else
    table.insert(missing, "Jiles and Atherton's hysteresis: the card has no such model; ")
end
if has_branches then
    table.insert(kinds, name .. "_branches (the measured major loop)")
else
    table.insert(missing, "the measured branches: the card has none; ")
end
return {
    comment("*", "subcircuits " .. table.concat(kinds, ", "), table.concat(missing)
        .. "eddy currents, winding resistance, temperature; one field for the whole section"),
    "* call: X1 in 0 " .. name .. "_curve turns=100 area=1e-4 length=0.1 (m2, m: the steel's section "
        .. "and path)\n* let sources begin at zero; the largest step of .tran: a thousandth of the period "
        .. "or less\n",
    write_curve(),
    model and write_jiles_atherton(model) or "",
    has_branches and write_branches() or "",
}
