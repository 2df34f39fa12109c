-- When the store was last assessed, and by which version.
SELECT generation, as_of, made_at, version
FROM assessments
ORDER BY made_at DESC
LIMIT 1
