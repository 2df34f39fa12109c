-- The role of one person.
SELECT role, growers FROM accounts WHERE email = $email
