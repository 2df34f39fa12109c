-- params: site text, until date
-- One site's days up to one.
SELECT depth_cm, "date", placement, high, state, temp_c, frozen, held
FROM daily
WHERE site = $site AND "date" <= $until::DATE
ORDER BY "date", depth_cm
