-- params: fields texts
SELECT * FROM seasons WHERE list_contains($fields::VARCHAR[], field) ORDER BY field, planted_on
