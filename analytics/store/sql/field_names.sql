-- Every field with its boundary, by id.
SELECT field, geometry FROM fields ORDER BY field
