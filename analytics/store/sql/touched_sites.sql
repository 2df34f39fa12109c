-- `since` is blank where anything but readings changed.
SELECT
    site,
    max(number) AS number,
    CASE WHEN count(since) = count(*) THEN min(since) END AS since
FROM touched
GROUP BY site
ORDER BY site
