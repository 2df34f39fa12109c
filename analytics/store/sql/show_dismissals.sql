-- What was put aside, newest first.
SELECT field, kind, since, author, reason, made_at
FROM dismissals
ORDER BY made_at DESC
