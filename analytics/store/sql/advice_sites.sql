-- params: until date, longest_crop_d number
-- One row a probe that stands in a field: its place, the field's next planting, and the crop that stands there,
-- which without a harvest date is the newest planted no longer ago than any crop stands.
WITH coming AS (
    SELECT field, crop, planted_on
    FROM seasons
    WHERE planted_on > $until::DATE
    QUALIFY row_number() OVER (PARTITION BY field ORDER BY planted_on) = 1
),
newest AS (
    SELECT field, crop, harvested_on, planted_on
    FROM seasons
    WHERE planted_on <= $until::DATE
    QUALIFY row_number() OVER (PARTITION BY field ORDER BY planted_on DESC) = 1
),
standing AS (
    SELECT field, crop AS standing
    FROM newest
    WHERE coalesce(harvested_on > $until::DATE, planted_on + $longest_crop_d::INTEGER > $until::DATE)
)
SELECT s.site, s.field, s.latitude, s.longitude, c.crop, c.planted_on, n.standing
FROM sites s
LEFT JOIN coming c ON c.field = s.field
LEFT JOIN standing n ON n.field = s.field
WHERE (s.installed_on IS NULL OR s.installed_on <= $until::DATE)
  AND (s.removed_on IS NULL OR s.removed_on > $until::DATE)
QUALIFY row_number() OVER (PARTITION BY s.site ORDER BY s.installed_on DESC NULLS LAST) = 1
ORDER BY s.field, s.site
