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
        "it is one of: " .. concat(choices, ", "))
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
            .. name .. "=" .. number(default or lowest or 1))
    end
    return read
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
                #known == 0 and "it has none" or "it has: " .. concat(known, ", "))
        end
    end
end
