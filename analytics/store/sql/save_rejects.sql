-- params: import integer
INSERT INTO rejects
SELECT $import, line, "column", "value", reason FROM arriving
