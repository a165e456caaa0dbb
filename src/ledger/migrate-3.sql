-- SPDX-License-Identifier: GPL-3.0-or-later
--
-- From version 2 to 3: the index of the heats holds the loop area too.
DROP INDEX loop_of_heat;
CREATE INDEX loop_of_heat ON loop (is_current, heat_id, coercivity_A_per_m, remanence_T,
    loop_area_J_per_m3);
