-- The first day of each probe in the ground, where every stay says when it began.
SELECT site, min(installed_on) AS installed_on, first(timezone ORDER BY installed_on) AS timezone
FROM sites
GROUP BY site
HAVING count(*) = count(installed_on)
ORDER BY site
