-- What a switch said by itself is told from what a poll read.

ALTER TABLE reading ADD COLUMN by_trap INTEGER NOT NULL DEFAULT 0 CHECK (by_trap IN (0, 1));
