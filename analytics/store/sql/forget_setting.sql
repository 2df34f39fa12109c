-- params: name text
DELETE FROM settings WHERE name = $name
