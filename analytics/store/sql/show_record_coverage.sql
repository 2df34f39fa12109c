-- params: site text, start date, date date, bucket_days integer, least_days integer
-- Each sensor's record as runs of equal state. A cell of so many days takes the gravest state that
-- holds on at least so many of them: missing, flagged, held (frozen), good.
WITH stays AS (
    SELECT coalesce(min(installed_on), DATE '1900-01-01') AS first_day FROM sites WHERE site = $site
),
asked AS (
    SELECT unnest(generate_series($start::DATE, $date::DATE, INTERVAL 1 DAY))::DATE AS date
),
sensors AS (SELECT DISTINCT depth_cm FROM daily WHERE site = $site),
marked AS (
    SELECT DISTINCT depth_cm,
           unnest(generate_series("from"::DATE, "to"::DATE, INTERVAL 1 DAY))::DATE AS date
    FROM flags
    WHERE site = $site AND "to" >= $start::DATE AND "from" < $date::DATE + 1
      AND flag NOT IN ('frozen', 'frost_edge', 'settling', 'step', 'clock', 'plateau')
),
states AS (
    SELECT s.depth_cm, a.date,
           CASE WHEN d.held OR d.frozen THEN 1
                WHEN m.date IS NOT NULL AND coalesce(d.good, 0) < 12 AND d.mean IS NULL THEN 2
                WHEN coalesce(d.good, 0) = 0 THEN 3
                ELSE 0 END AS state
    FROM asked a
    CROSS JOIN sensors s
    LEFT JOIN daily d ON d.site = $site AND d.depth_cm = s.depth_cm AND d.date = a.date
    LEFT JOIN marked m ON m.depth_cm = s.depth_cm AND m.date = a.date
    WHERE a.date >= (SELECT first_day FROM stays)
),
cells AS (
    SELECT depth_cm, time_bucket(to_days($bucket_days::INTEGER), date)::DATE AS date,
           CASE WHEN count(*) FILTER (WHERE state = 3) >= least($least_days, count(*)) THEN 'missing'
                WHEN count(*) FILTER (WHERE state = 2) >= least($least_days, count(*)) THEN 'flagged'
                WHEN count(*) FILTER (WHERE state = 1) >= least($least_days, count(*)) THEN 'held'
                ELSE 'good' END AS state
    FROM states
    GROUP BY depth_cm, time_bucket(to_days($bucket_days::INTEGER), date)
),
changes AS (
    SELECT *, state IS DISTINCT FROM lag(state) OVER (PARTITION BY depth_cm ORDER BY date) AS fresh
    FROM cells
),
runs AS (
    SELECT *, count(*) FILTER (WHERE fresh) OVER (PARTITION BY depth_cm ORDER BY date) AS run
    FROM changes
)
SELECT depth_cm, state, greatest(min(date), $start::DATE) AS "from",
       least(max(date) + $bucket_days::INTEGER, $date::DATE + 1) AS "to"
FROM runs
GROUP BY depth_cm, run, state
ORDER BY depth_cm, "from"
