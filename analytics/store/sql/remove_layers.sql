DELETE FROM layers
USING leaving
WHERE layers.site = leaving.site
    AND layers.depth_cm = leaving.depth_cm
RETURNING layers.site
