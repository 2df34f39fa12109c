-- The crops of one field, first planted first.
SELECT crop, planted_on, harvested_on
FROM seasons
WHERE field = $field
ORDER BY planted_on
