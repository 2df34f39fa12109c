-- Sites whose rows name more than one field.
SELECT site, string_agg(DISTINCT field, ', ' ORDER BY field) AS fields
FROM sites
GROUP BY site
HAVING count(DISTINCT field) > 1
ORDER BY site
