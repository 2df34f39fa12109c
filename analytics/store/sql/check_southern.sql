-- A store whose every probe stands south of the equator while its winters turn over in the
-- north's summer; no one year suits a store that spans the equator.
-- params: frost_month number
SELECT count(DISTINCT site) AS subject
FROM sites
WHERE $frost_month BETWEEN 4 AND 9
HAVING bool_and(latitude < 0)
