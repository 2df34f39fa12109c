-- params: name text
DELETE FROM scenarios
WHERE name = $name
RETURNING name
