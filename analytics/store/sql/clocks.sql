-- Of each site the clock that a mapping of its files last stated.
SELECT site, arg_max(clock, id) AS clock
FROM (
    SELECT
        id, unnest(sites) AS site,
        json_extract_string(nullif(mapping, ''), '$.time.clock') AS clock
    FROM imports
    WHERE kind = 'readings'
)
WHERE clock IS NOT NULL
GROUP BY site
ORDER BY site
