-- Accounts that name a grower who farms no field.
SELECT email, grower
FROM (SELECT email, unnest(growers) AS grower FROM accounts)
WHERE grower NOT IN (SELECT grower FROM fields WHERE grower IS NOT NULL)
ORDER BY email, grower
