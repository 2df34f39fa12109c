-- params: fields texts, until date
SELECT field, "date", kind, mm
FROM water
WHERE list_contains($fields::VARCHAR[], field) AND "date" <= $until::DATE
ORDER BY field, "date", kind
