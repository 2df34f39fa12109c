SELECT * FROM imports ORDER BY id
