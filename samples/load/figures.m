% SPDX-License-Identifier: GPL-3.0-or-later
% Octave: coercivity, remanence and loop area from the branches of steel.m, which is what
% lodecard card export CARD --to octave -o steel.m
% wrote.
source("steel.m");
r = steel.major_loop.rising;
f = steel.major_loop.falling;
Hc = interp1(r.flux_density_T, r.field_A_per_m, 0);
Br = interp1(f.field_A_per_m, f.flux_density_T, 0);
W = trapz(r.flux_density_T, r.field_A_per_m) - trapz(f.flux_density_T, f.field_A_per_m);
printf("%s\nHc %.7g A/m, Br %.7g T, area %.7g J/m3\n", steel.name, Hc, Br, W);
