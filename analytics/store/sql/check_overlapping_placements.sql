-- A probe that is said to stand in two holes at once.
SELECT DISTINCT one.site AS subject
FROM sites AS one JOIN sites AS next
    ON one.site = next.site
    AND coalesce(one.installed_on, DATE '0001-01-01') < next.installed_on
WHERE one.removed_on IS NULL OR one.removed_on > next.installed_on
ORDER BY subject
