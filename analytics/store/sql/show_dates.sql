-- The dates for which readiness was kept at half the sites or more, latest first. Each site and
-- date has one row for its whole profile.
WITH known AS (
    SELECT DISTINCT date, site
    FROM readiness
    WHERE zone = 'profile'
),
kept AS (
    SELECT date, count(*) AS sites
    FROM known
    GROUP BY date
)
SELECT date, sites
FROM kept
WHERE date = (SELECT max(date) FROM kept)
   OR 2 * sites >= (SELECT count(DISTINCT site) FROM known)
ORDER BY date DESC
