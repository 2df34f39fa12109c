SELECT site, last(timezone ORDER BY installed_on NULLS FIRST) AS timezone
FROM sites
GROUP BY site
ORDER BY site
