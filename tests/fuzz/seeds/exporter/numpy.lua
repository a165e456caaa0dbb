-- NumPy archive (.npz): every array and number of the card, by its path
--
-- numpy.load("card.npz")["normal_curve.flux_density_peak_T"]. The format: numpy.lib.format, version 1.0
-- (magic, version, length of the header, header, little-endian doubles), in a ZIP archive without
-- compression (PKWARE application note, sections 4.3.7 to 4.3.16), dates fixed. What is text stands in
-- the member "statement" as characters.
local crc_table = {}
for i = 0, 255 do
    local value = i
    for _ = 1, 8 do
        value = (value & 1) == 1 and (value >> 1) ~ 0xEDB88320 or value >> 1
    end
    crc_table[i] = value
end

local function crc32(text)
    local crc = 0xFFFFFFFF
    for from = 1, #text, 4096 do
        for _, byte in ipairs {text:byte(from, math.min(from + 4095, #text))} do
            crc = (crc >> 8) ~ crc_table[(crc ~ byte) & 0xFF]
        end
    end
    return crc ~ 0xFFFFFFFF
end

local function array(shape, kind, bytes)
    local header = ("{'descr': '%s', 'fortran_order': False, 'shape': %s, }"):format(kind, shape)
    header = header .. (" "):rep(63 - (#header + 10) % 64) .. "\n"
    return "\147NUMPY\1\0" .. ("<I2"):pack(#header) .. header .. bytes
end

local files = {}
local function add(name, bytes)
    table.insert(files, {name = name .. ".npy", bytes = bytes})
end

local function add_numbers(name, list)
    local packed = {}
    for i = 1, #list do
        packed[i] = ("<d"):pack(list[i])
    end
    add(name, array("(" .. #list .. ",)", "<f8", table.concat(packed)))
end

local function add_members(path, value)
    if type(value) == "number" then
        add(path, array("()", "<f8", ("<d"):pack(value)))
    elseif type(value) == "table" and type(value[1]) == "number" then
        add_numbers(path, value)
    elseif type(value) == "table" then
        for key, member in pairs(value) do
            local word = type(key) == "number" and tostring(key - 1) or identifier(key)
            add_members(path and path .. "." .. word or word, member)
        end
    end
end

local words = table.concat(statement("arrays as measured; solver is what computing wants",
    "texts of the card other than these, provenance"), "\n")
words = words:gsub("[\128-\255]", "?")
add("statement", array("()", "|S" .. #words, words))
for key, block in pairs(card) do
    if key ~= "provenance" and key ~= "notes" then
        add_members(identifier(key), block)
    end
end

local DATE = 33 -- 1980-01-01, the first there is
local pieces, directory, offset = {}, {}, 0
for _, file in ipairs(files) do
    local common = ("<I2I2I2I2I2I4I4I4I2I2"):pack(20, 0, 0, 0, DATE, crc32(file.bytes), #file.bytes,
        #file.bytes, #file.name, 0)
    table.insert(pieces, "PK\3\4" .. common .. file.name .. file.bytes)
    table.insert(directory, "PK\1\2" .. ("<I2"):pack(20) .. common .. ("<I2I2I2I4I4"):pack(0, 0, 0, 0,
        offset) .. file.name)
    offset = offset + #pieces[#pieces]
end
local list = table.concat(directory)
table.insert(pieces, list)
table.insert(pieces, "PK\5\6" .. ("<I2I2I2I2I4I4I2"):pack(0, 0, #files, #files, #list, offset, 0))
return pieces
