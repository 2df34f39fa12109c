-- Probes south of the equator in a store whose winters turn over in the north's summer.
-- params: frost_month number
SELECT count(DISTINCT site)::VARCHAR || ' of ' || (SELECT count(DISTINCT site) FROM sites) AS subject
FROM sites
WHERE latitude < 0 AND $frost_month BETWEEN 4 AND 9
HAVING count(DISTINCT site) > 0
