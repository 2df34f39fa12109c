-- params: until date
-- One row a probe that stands in a field: its place, and the field's source and next planting.
WITH coming AS (
    SELECT field, crop, planted_on
    FROM seasons
    WHERE planted_on > $until::DATE
    QUALIFY row_number() OVER (PARTITION BY field ORDER BY planted_on) = 1
)
SELECT s.site, s.field, s.latitude, s.longitude, c.crop, c.planted_on
FROM sites s
LEFT JOIN coming c ON c.field = s.field
WHERE (s.installed_on IS NULL OR s.installed_on <= $until::DATE)
  AND (s.removed_on IS NULL OR s.removed_on > $until::DATE)
QUALIFY row_number() OVER (PARTITION BY s.site ORDER BY s.installed_on DESC NULLS LAST) = 1
ORDER BY s.field, s.site
