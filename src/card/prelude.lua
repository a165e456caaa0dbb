-- Runs before every exporter, with the options of the command line; what it defines is for all.
local given = ...
local plain_next, plain_pairs = next, pairs
local plain_setmetatable, plain_rawget = setmetatable, rawget
local getmetatable, type, error, tostring = getmetatable, type, error, tostring
local sort, concat, insert = table.sort, table.concat, table.insert

-- Lua's own order of keys changes from run to run; here numbers come first, then texts, each in
-- their order. (Parts of the card bring an order of their own: that of the file.)
local function is_before(a, b)
    if type(a) == type(b) then
        return a < b
    end
    return type(a) == "number"
end

function pairs(list)
    if type(list) ~= "table" then
        error("pairs needs a table, not a " .. type(list), 2)
    end
    local meta = getmetatable(list)
    if meta == "read-only" or (type(meta) == "table" and meta.__pairs) then
        return plain_pairs(list)
    end
    local keys, place = {}, 0
    for key in plain_next, list do
        if type(key) ~= "number" and type(key) ~= "string" then
            error("pairs needs keys that are numbers or texts, and one is a " .. type(key), 2)
        end
        keys[#keys + 1] = key
    end
    sort(keys, is_before)
    return function()
        place = place + 1
        return keys[place], list[keys[place]]
    end
end

-- A finalizer would run where instructions are not counted.
function setmetatable(list, meta)
    if type(meta) == "table" and plain_rawget(meta, "__gc") ~= nil then
        error("an exporter cannot have finalizers (__gc)", 2)
    end
    return plain_setmetatable(list, meta)
end

-- option("units", "si", {"si", "cgs"}): what `--set units=cgs` says, else the second argument.
local asked = {}
function option(name, default, choices)
    asked[name] = true
    local value = given[name]
    if value == nil then
        return default
    end
    for _, choice in ipairs(choices or {value}) do
        if choice == value then
            return value
        end
    end
    refuse("option '" .. name .. "' cannot be '" .. value .. "'",
        "it is one of: " .. concat(choices, ", "), true)
end

-- The same for a number.
function number_option(name, default, lowest)
    local value = option(name)
    if value == nil then
        return default
    end
    local read = tonumber(value)
    if not read or read ~= read or read - read ~= 0 or read < (lowest or read) then
        refuse("option '" .. name .. "' cannot be '" .. value .. "'",
            "it is a number" .. (lowest and (" from " .. number(lowest)) or "") .. ", such as --set "
            .. name .. "=" .. number(default or lowest or 1), true)
    end
    return read
end

-- A text of the card that may stand in a line of any program: one line, no control characters, no
-- backslash, nothing that turns the direction of writing, ends a comment or begins an inclusion. A name
-- in a card is not trusted.
function plain(text)
    text = tostring(text):gsub("[%c\\]", " "):gsub("\194[\128-\159]", " "):gsub("\216\156", " ")
    text = text:gsub("\226\128[\142\143\168-\174]", " "):gsub("\226\129[\166-\169]", " ")
    text = text:gsub("%*/", "* /"):gsub("/%*", "/ *"):gsub("[%$`]", " ")
    return #text > 300 and text:sub(1, 297):gsub("[\128-\191]*$", "") .. "..." or text
end

-- The same without quotation marks: to stand between them.
function quoted(text)
    return (plain(text):gsub('"', "'"))
end

-- Letters, digits and underscores, a letter first: "RS-36, heat H2291" becomes RS_36_heat_H2291.
function identifier(text)
    text = tostring(text):gsub("[^%w]+", "_"):gsub("^_+", ""):gsub("_+$", ""):sub(1, 60)
    return text:match("^%a") and text or "steel_" .. text
end

-- A part of the card by its path, such as part("solver.curve.field_A_per_m"); nil where there is none.
function part(path)
    local value = card
    for key in path:gmatch("[^.]+") do
        if type(value) ~= "table" then
            return nil
        end
        value = value[key]
    end
    return value
end

-- The same, but a card without it is refused.
function need(path)
    local value = part(path)
    if value == nil then
        refuse("card '" .. plain(about.file) .. "' has no '" .. path .. "', which "
            .. about.exporter:gsub("%.lua$", "") .. " needs",
            "docs/card.md tells what that part is made of: measure it, and make the card anew")
    end
    return value
end

-- All numbers of a list, as text; each is a number, whatever the card says.
function numbers(list)
    local texts = {}
    for i = 1, #list do
        texts[i] = number(list[i])
    end
    return texts
end

-- The texts joined into lines of at most `width` columns.
function wrap(texts, separator, indent, width)
    local lines, line = {}, indent
    for i = 1, #texts do
        local piece = texts[i] .. (i < #texts and separator or "")
        if #line + #piece > (width or 100) and line ~= indent then
            insert(lines, (line:gsub(" +$", "")))
            line = indent
        end
        line = line .. piece
    end
    insert(lines, line)
    return concat(lines, "\n")
end

-- Points of the C1 cubic through a solver curve (points with slopes), so dense that straight lines
-- between them leave it by at most `bound` (T): lists of H, B and dB/dH.
function resample(graph, bound)
    local x, y, s = graph.field_A_per_m, graph.flux_density_T, graph.slope_H_per_m
    local field, flux, slope = {x[1]}, {y[1]}, {s[1]}
    for i = 1, #x - 1 do
        local h, d = x[i + 1] - x[i], y[i + 1] - y[i]
        local b, c = 3 * d - h * (2 * s[i] + s[i + 1]), h * (s[i] + s[i + 1]) - 2 * d
        local bend = math.max(math.abs(2 * b), math.abs(2 * b + 6 * c)) -- largest 2nd derivative
        local parts = math.min(1000, math.max(1, math.ceil(math.sqrt(bend / 8 / bound))))
        for j = 1, parts - 1 do
            local t = j / parts
            insert(field, x[i] + h * t)
            insert(flux, y[i] + t * (h * s[i] + t * (b + t * c)))
            insert(slope, s[i] + t * (2 * b + 3 * t * c) / h)
        end
        insert(field, x[i + 1])
        insert(flux, y[i + 1])
        insert(slope, s[i + 1])
    end
    return field, flux, slope
end

MU0 = 4e-7 * math.pi

-- A model of the card by its name, or nil.
function find_model(name)
    for _, model in ipairs(card.models or {}) do
        if model.name == name then
            return model
        end
    end
end

-- The first ring of the card, as {turns, area_m2, length_m}; what is not known is nil.
function find_ring()
    local setup = (part("provenance.setups") or {})[1] or {}
    local specimen, rig = setup.specimen or {}, setup.rig or {}
    local winding = specimen.winding or rig.winding or {}
    return {turns = winding.primary_turns, area_m2 = specimen.area_m2,
        length_m = specimen.path_length_m}
end

local function range(least, most, unit, scale, shift)
    if not most then
        return nil
    end
    local low, high = (least or most) * (scale or 1) + (shift or 0),
        most * (scale or 1) + (shift or 0)
    local a, b = number(("%.4g"):format(low)), number(("%.4g"):format(high))
    return (a == b and a or a .. " to " .. b) .. " " .. unit
end

local function describe_range()
    local held, words = card.validity or {}, {}
    local function add(name, text)
        if text then
            insert(words, name .. " " .. text)
        end
    end
    add("peak field", range(held.field_least_A_per_m, held.field_most_A_per_m, "A/m"))
    add("peak flux density", range(held.flux_density_least_T, held.flux_density_most_T, "T"))
    add("peak polarization", range(held.polarization_least_T, held.polarization_most_T, "T"))
    add("frequency", range(held.frequency_least_Hz, held.frequency_most_Hz, "Hz"))
    add("temperature", range(held.temperature_least_K, held.temperature_most_K, "degC", 1, -273.15))
    return #words > 0 and concat(words, ", ") or "not stated in the card"
end

-- What every exporter says of itself, as a list of lines for its comments.
function statement(form, left_out)
    return {
        plain(card.name or "unnamed steel") .. ": material card " .. plain(about.file),
        "SHA-256 of the card: " .. about.sha256,
        "written by lodecard " .. about.version .. ", exporter " .. about.exporter,
        "units: SI (H in A/m, B in T, lengths in m, energy in J/m3 per cycle) unless a name says more",
        "holds for: " .. describe_range(),
        "model form: " .. plain(form),
        "left out: " .. plain(left_out),
    }
end

-- The statement behind a comment mark, one line each.
function comment(mark, form, left_out)
    local lines = statement(form, left_out)
    for i, line in ipairs(lines) do
        lines[i] = mark .. " " .. line .. "\n"
    end
    return concat(lines)
end

-- Called behind the exporter: an option that nobody asked for is a slip.
return function()
    for name in pairs(given) do
        if not asked[name] then
            local known = {}
            for other in pairs(asked) do
                insert(known, other)
            end
            refuse(about.exporter .. " has no option '" .. name .. "'",
                #known == 0 and "it has none" or "it has: " .. concat(known, ", "), true)
        end
    end
end
