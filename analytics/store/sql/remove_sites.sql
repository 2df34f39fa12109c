DELETE FROM sites
USING leaving
WHERE sites.site = leaving.site
    AND sites.installed_on IS NOT DISTINCT FROM leaving.installed_on
RETURNING sites.site
