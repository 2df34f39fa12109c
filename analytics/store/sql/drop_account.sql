-- Take an account away.
DELETE FROM accounts WHERE email = $email RETURNING email
