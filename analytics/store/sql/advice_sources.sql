-- Every source of water.
SELECT *
FROM sources
ORDER BY source
