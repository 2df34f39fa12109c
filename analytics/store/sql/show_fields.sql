-- Every field with its boundary.
SELECT field, coalesce(nullif(name, ''), field) AS name, grower, source, soil, irrigated_ha,
       root_limit_cm, geometry
FROM fields
ORDER BY name, field
