-- Every named scenario, latest first.
SELECT name, told::VARCHAR AS told, author, made_at
FROM scenarios
ORDER BY made_at DESC, name
