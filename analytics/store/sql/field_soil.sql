-- params: fields texts
SELECT field, soil FROM fields WHERE list_contains($fields::VARCHAR[], field)
