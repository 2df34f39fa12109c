SELECT site, max(number) AS number FROM touched GROUP BY site ORDER BY site
