-- The dates for which readiness was kept at half the sites or more, latest first.
WITH kept AS (
    SELECT date, count(DISTINCT site) AS sites
    FROM readiness
    GROUP BY date
)
SELECT date, sites
FROM kept
WHERE date = (SELECT max(date) FROM kept)
   OR 2 * sites >= (SELECT count(DISTINCT site) FROM readiness)
ORDER BY date DESC
