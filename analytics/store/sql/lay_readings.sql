-- Every reading as one row a sensor and instant, for whoever opens the file by hand, from inside
-- the store's folder. Slow (all sites' parts are unfolded); quick for one site (WHERE site = ...).
CREATE OR REPLACE VIEW readings AS
WITH parts AS (
    SELECT
        url_decode(regexp_extract(filename, 'site=([^/\\]+)[/\\]', 1)) AS site,
        time,
        COLUMNS('^(vwc|temp)_')::DOUBLE
    FROM read_parquet(
        'readings/*/[0-9][0-9][0-9][0-9].parquet',
        union_by_name = true, filename = true, hive_partitioning = false
    )
),
told AS (
    UNPIVOT parts ON COLUMNS('^(vwc|temp)_') INTO NAME sensor VALUE scaled
)
SELECT
    site,
    time,
    split_part(sensor, '_', 2)::DOUBLE AS depth_cm,
    any_value(scaled / 10000) FILTER (sensor LIKE 'vwc_%') AS vwc,
    any_value(scaled / 100) FILTER (sensor LIKE 'temp_%') AS soil_temp_c
FROM told
GROUP BY ALL
