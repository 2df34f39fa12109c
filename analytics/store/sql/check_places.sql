-- Every stay of a probe beside the boundary of its field.
SELECT DISTINCT site, field, latitude, longitude, geometry
FROM sites JOIN fields USING (field)
ORDER BY site, latitude, longitude
