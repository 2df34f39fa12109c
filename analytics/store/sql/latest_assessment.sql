SELECT generation, as_of, made_at, version, settings::VARCHAR AS settings
FROM assessments
ORDER BY generation DESC
LIMIT 1
