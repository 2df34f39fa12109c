DELETE FROM fields
USING leaving
WHERE fields.field = leaving.field
RETURNING fields.field
