-- Where each probe stands: the latest stay, for distances between fields.
SELECT site, field, latitude, longitude
FROM sites
QUALIFY row_number() OVER (PARTITION BY site ORDER BY installed_on DESC NULLS LAST) = 1
ORDER BY site
