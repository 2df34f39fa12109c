-- The fields that some growers farm.
-- params: growers texts
SELECT field FROM fields WHERE grower IN (SELECT unnest($growers))
