-- params: since date, until date
-- What was put on each field in a stretch of days, net mm.
SELECT field, sum(mm) AS mm
FROM water
WHERE kind = 'irrigation' AND "date" BETWEEN $since::DATE AND $until::DATE
GROUP BY field
ORDER BY field
