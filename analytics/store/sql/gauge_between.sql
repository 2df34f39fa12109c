-- One station's own readings in a stretch of time.
-- params: station text, since time, until time
SELECT "time", quantity, value
FROM gauge
WHERE station = $station AND "time" BETWEEN $since::TIMESTAMPTZ AND $until::TIMESTAMPTZ
ORDER BY "time"
