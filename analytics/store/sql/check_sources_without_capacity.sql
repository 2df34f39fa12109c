-- Sources that the watering order counts no water from.
SELECT source AS subject FROM sources
WHERE capacity_l_s IS NULL OR capacity_l_s <= 0
ORDER BY source
