DELETE FROM water
USING leaving
WHERE water.field = leaving.field
    AND water.date = leaving.date
    AND water.kind = leaving.kind
RETURNING water.field
