-- The water sources that feed no field but those that some growers farm.
-- params: growers texts
SELECT source
FROM fields
WHERE source IS NOT NULL
GROUP BY source
HAVING bool_and(coalesce(grower IN (SELECT unnest($growers)), false))
