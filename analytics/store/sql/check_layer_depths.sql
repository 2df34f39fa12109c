-- Depths of the sensors that the layers table tells of, by site.
SELECT site, list(depth_cm ORDER BY depth_cm) FROM layers GROUP BY site ORDER BY site
