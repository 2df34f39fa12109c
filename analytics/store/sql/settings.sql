SELECT name, "value" FROM settings ORDER BY name
