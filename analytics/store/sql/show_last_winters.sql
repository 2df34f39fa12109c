-- Each layer's tally of the last off-season of every site on a date.
SELECT *
FROM tally
WHERE depth_cm IS NOT NULL AND "from" <= $date::DATE
QUALIFY "from" = max("from") OVER (PARTITION BY site)
ORDER BY site, depth_cm
