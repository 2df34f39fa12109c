-- Roads, canals and edges drawn behind the fields.
SELECT landmark, kind, name, geometry
FROM landmarks
