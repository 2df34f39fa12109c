DELETE FROM seasons
USING leaving
WHERE seasons.field = leaving.field
    AND seasons.planted_on = leaving.planted_on
RETURNING seasons.field
