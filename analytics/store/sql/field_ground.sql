-- params: fields texts
SELECT field, soil, root_limit_cm FROM fields WHERE list_contains($fields::VARCHAR[], field)
