-- comma-separated values: normal curve, loops, losses, figures, each table with units in its header
--
-- RFC 4180 but for the lines of comment, which begin with #. Header cells are the card's own keys,
-- <quantity>_<unit>. `--set table=curve` (or branches, losses, figures) gives one table alone, without
-- comment: `lodecard series` reads the losses.
local wanted = option("table", "all", {"all", "curve", "branches", "losses", "figures"})

local function cell(value)
    if type(value) == "number" then
        return number(value)
    end
    value = plain(value == nil and "" or value)
    if value:find("^[=+@-]") then -- a spreadsheet would compute it
        value = "'" .. value
    end
    return value:find('[,"]') and '"' .. value:gsub('"', '""') .. '"' or value
end

local function row(...)
    local cells = {}
    for i = 1, select("#", ...) do
        cells[i] = cell((select(i, ...)))
    end
    return table.concat(cells, ",") .. "\n"
end

local function write_curve()
    local curve = need("normal_curve")
    local lines = {row("field_peak_A_per_m", "flux_density_peak_T")}
    for i = 1, #curve.field_peak_A_per_m do
        lines[i + 1] = row(curve.field_peak_A_per_m[i], curve.flux_density_peak_T[i])
    end
    return table.concat(lines)
end

local function all_loops()
    local loops = {}
    for _, loop in ipairs(card.loops or {}) do
        table.insert(loops, loop)
    end
    table.insert(loops, card.major_loop)
    return loops
end

local function write_branches()
    local lines = {row("loop", "frequency_Hz", "branch", "field_A_per_m", "flux_density_T")}
    for i, loop in ipairs(all_loops()) do
        for _, name in ipairs {"rising", "falling"} do
            local branch = loop[name] or {field_A_per_m = {}}
            for j = 1, #branch.field_A_per_m do
                table.insert(lines, row(i, loop.frequency_Hz, name, branch.field_A_per_m[j],
                    branch.flux_density_T[j]))
            end
        end
    end
    return table.concat(lines)
end

local function write_losses()
    local keys = {"frequency_Hz", "field_peak_A_per_m", "flux_density_peak_T", "polarization_peak_T",
        "remanence_T", "coercivity_A_per_m", "loop_area_J_per_m3", "loss_W_per_m3",
        "specific_loss_W_per_kg"}
    local used = {}
    for _, key in ipairs(keys) do
        for _, loop in ipairs(all_loops()) do
            if (loop.figures or card.figures)[key] and used[#used] ~= key then
                table.insert(used, key)
            end
        end
    end
    local lines = {row(table.unpack(used))}
    for _, loop in ipairs(all_loops()) do
        local cells = {}
        for i, key in ipairs(used) do
            cells[i] = (loop.figures or card.figures)[key] or ""
        end
        table.insert(lines, row(table.unpack(cells)))
    end
    return table.concat(lines)
end

local function write_figures()
    local lines = {row("figure", "value", "u")}
    for key, value in pairs(need("figures")) do
        if key:sub(1, 2) ~= "u_" then
            table.insert(lines, row(key, value, card.figures["u_" .. key]))
        end
    end
    return table.concat(lines)
end

local tables = {curve = write_curve, branches = write_branches, losses = write_losses,
    figures = write_figures}
if wanted ~= "all" then
    return tables[wanted]()
end
local pieces = {comment("#", "none: measured points and figures",
    "fitted models, the curve beyond the measurement, loss separation, provenance")}
for _, name in ipairs {"figures", "curve", "losses", "branches"} do
    if name ~= "curve" or card.normal_curve then
        table.insert(pieces, "\n# " .. name .. "\n" .. tables[name]())
    end
end
return pieces
