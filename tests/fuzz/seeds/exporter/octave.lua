-- Octave script (and programs that read its language): a struct with the card's arrays and figures
--
-- `run("steel.m")` leaves a struct `steel` (--set name=...). Octave's manual, sections "Containers" and
-- "Comments": a struct is filled member by member; % begins a comment; three dots go on in the next
-- line.
local name = identifier(option("name", "steel"))

local function vector(path, list)
    return ("%s.%s = [ ...\n%s];\n"):format(name, path, wrap(numbers(list), " ", "  ")
        :gsub("\n", " ...\n"))
end

local function write_members(path, object, lines)
    for key, value in pairs(object) do
        local member = path .. "." .. identifier(key)
        if type(value) == "number" then
            table.insert(lines, ("%s.%s = %s;\n"):format(name, member, number(value)))
        elseif type(value) == "boolean" then
            table.insert(lines, ("%s.%s = %s;\n"):format(name, member, tostring(value)))
        elseif type(value) == "string" then
            table.insert(lines, ('%s.%s = "%s";\n'):format(name, member, quoted(value)))
        elseif type(value) == "table" and type(value[1]) == "number" then
            table.insert(lines, vector(member, value))
        elseif type(value) == "table" and #value == 0 then
            write_members(member, value, lines)
        end
    end
end

local lines = {
    comment("%", "arrays as measured; solver.curve is the curve for computing",
        "loops other than the major one, loss separation, notes, provenance"),
    ('%s = struct();\n%s.name = "%s";\n%s.card_sha256 = "%s";\n'):format(name, name,
        quoted(card.name or ""), name, about.sha256),
}
for _, block in ipairs {"identity", "validity", "steel", "figures", "normal_curve", "major_loop",
    "saturation", "power_law", "solver"} do
    if card[block] then
        write_members(block, card[block], lines)
    end
end
for _, model in ipairs(card.models or {}) do
    local path = "models." .. identifier(model.name)
    table.insert(lines, ('%s.%s.form = "%s";\n'):format(name, path, quoted(model.form)))
    write_members(path .. ".parameters", model.parameters, lines)
end
return lines
