-- Everybody who farms a field.
SELECT DISTINCT grower FROM fields WHERE grower IS NOT NULL ORDER BY grower
