-- Made after a bulk load, which they would slow down by half.
CREATE INDEX reading_by_quantity ON reading (quantity, at);
CREATE INDEX reading_by_gear ON reading (gear, at);
CREATE INDEX trial_by_gear ON trial (gear, at);
CREATE INDEX arrival_by_source ON arrival (source);
CREATE INDEX condition_by_reading ON condition (source, reading);
CREATE INDEX evidence_by_source ON evidence (source);
