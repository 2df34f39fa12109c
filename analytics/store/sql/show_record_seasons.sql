-- Every crop of every field, for the time between them.
SELECT field, crop, planted_on, harvested_on
FROM seasons
ORDER BY field, planted_on
