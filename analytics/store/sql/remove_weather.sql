DELETE FROM weather
USING leaving
WHERE weather.station = leaving.station
    AND weather.date = leaving.date
RETURNING weather.station
