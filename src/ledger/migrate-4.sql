-- SPDX-License-Identifier: GPL-3.0-or-later
--
-- From version 3 to 4: sums of the heats, as schema.sql has them. They are empty until somebody
-- writes.
CREATE TABLE heat_sum (
    heat_id INTEGER NOT NULL,
    figure TEXT NOT NULL,               -- its key; "": count is that of the loops, and all is there
    count INTEGER NOT NULL,             -- loops that have the figure
    mean REAL NOT NULL,
    squares REAL NOT NULL,              -- sum of squares about the mean
    least REAL NOT NULL,
    most REAL NOT NULL,
    PRIMARY KEY (heat_id, figure)
);
CREATE TRIGGER heat_sum_of_new BEFORE INSERT ON loop
BEGIN
    DELETE FROM heat_sum WHERE heat_id = NEW.heat_id;
END;
CREATE TRIGGER heat_sum_of_changed BEFORE UPDATE ON loop
BEGIN
    DELETE FROM heat_sum WHERE heat_id = OLD.heat_id OR heat_id = NEW.heat_id;
END;
CREATE TRIGGER heat_sum_of_removed BEFORE DELETE ON loop
BEGIN
    DELETE FROM heat_sum WHERE heat_id = OLD.heat_id;
END;
