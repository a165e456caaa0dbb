-- GetDP functions: reluctivity of the normal curve, and the hysteresis of Jiles and Atherton
--
-- What GetDP demands (reference manual 3.2):
--   section "Miscellaneous functions": InterpolationLinear goes on along its last line; the curve
--     therefore ends where its slope has become that of empty space.
--   templates/Lib_Materials.pro: a material is a set of functions NAME_nu, NAME_dnudb2, NAME_h,
--     NAME_dhdb of the vector b; nu is a function of the square of |b|, so that no root is needed.
--   h_Jiles[h before, b before, b], dhdb_Jiles[h, b, change of h] (not in the manual; source file
--     F_Hysteresis.cpp) with {Ms, a, k, c, alpha}: dM/dHe = (Man - M)/(k d) + c dMan/dHe, He = H +
--     alpha M, Man = Ms (coth(He/a) - a/He). Other forms share the names and give other loops: only
--     parameters fitted in this form are written.
local name = identifier(option("name", card.name or "steel"))
local table_nu = need("solver.reluctivity")
local curve = need("solver.curve")
local model = find_model("jiles-atherton-field")

local function list(word, values)
    return ("  %s_%s() = {\n%s\n  };\n"):format(name, word, wrap(numbers(values), ", ", "    "))
end

local function use(text)
    return (text:gsub("NAME", name))
end

local form = "reluctivity nu(B^2) of the curve '" .. plain(curve.kind) .. "', " .. plain(curve.method)
if model then
    form = form .. "; " .. plain(model.name) .. ", relative misfit to the measured loops "
        .. ("%.2g"):format(model.residual_relative)
end
local pieces = {
    comment("//", form, (model and "" or "hysteresis: the card has no model 'jiles-atherton-field'; ")
        .. "eddy currents (the resistivity is below, for sigma[]), anisotropy, temperature"),
    "\nFunction {\n",
    list("b2_list", table_nu.flux_density_squared_T2),
    list("nu_list", table_nu.reluctivity_m_per_H),
    use [=[
  NAME_nu_b2_list() = ListAlt[NAME_b2_list(), NAME_nu_list()];
  NAME_nu[] = InterpolationLinear[SquNorm[$1]]{NAME_nu_b2_list()};
  NAME_dnudb2[] = dInterpolationLinear[SquNorm[$1]]{NAME_nu_b2_list()};
  NAME_h[] = NAME_nu[$1] * $1;
  NAME_dhdb[] = TensorDiag[1, 1, 1] * NAME_nu[$1#1] + 2 * NAME_dnudb2[#1] * SquDyadicProduct[#1];
  NAME_dhdb_NL[] = 2 * NAME_dnudb2[$1#1] * SquDyadicProduct[#1];
]=],
}
if part("steel.resistivity_ohm_m") then
    table.insert(pieces, ("  %s_sigma = %s; // S/m\n"):format(name,
        number(1 / card.steel.resistivity_ohm_m)))
end
if model then
    local p = model.parameters
    table.insert(pieces, use [=[

  // Ms (A/m), a (A/m), k (A/m), c, alpha. For a magnetic vector potential, with h kept as a quantity:
  //   [ NAME_h_jiles[{h}[1], {d a}[1], {d a}], {d a} ]
  //   JacNL[ NAME_dhdb_jiles[{h}, {d a}, {h} - {h}[1]] * Dof{d a}, {d a} ]
]=])
    table.insert(pieces, list("jiles", {p.saturation_A_per_m, p.shape_A_per_m, p.pinning_A_per_m,
        p.reversibility, p.coupling}))
    table.insert(pieces, use [=[
  NAME_h_jiles[] = h_Jiles[$1, $2, $3]{NAME_jiles()};
  NAME_dhdb_jiles[] = dhdb_Jiles[$1, $2, $3]{NAME_jiles()};
]=])
end
table.insert(pieces, "}\n")
return pieces
