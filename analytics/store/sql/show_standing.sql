-- Every crop that stands, with the latest morning of its root zone, the least room first.
SELECT c.field, c.site, c.crop, c.planted_on, d."date", d.root_cm,
       coalesce(d.probe_mm, d.balance_mm) AS short_mm, d.ready_mm, d.pace,
       d.ready_mm - coalesce(d.probe_mm, d.balance_mm) AS room_mm
FROM crop_water c
JOIN depletion d ON d.site = c.site AND d.planted_on = c.planted_on
WHERE c.open
QUALIFY row_number() OVER (PARTITION BY c.site, c.planted_on ORDER BY d."date" DESC) = 1
ORDER BY room_mm, c.field, c.site
