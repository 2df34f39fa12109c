-- The probes that stand, and always stood, in fields that some growers farm.
-- params: growers texts
WITH own AS (
    SELECT field FROM fields WHERE grower IN (SELECT unnest($growers))
)

SELECT site
FROM sites
GROUP BY site
HAVING bool_and(field IN (SELECT field FROM own))
