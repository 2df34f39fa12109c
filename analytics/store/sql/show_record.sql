-- Each layer's daily values, reduced to one lowest, highest and middle value a bucket of days.
SELECT time_bucket(to_days($bucket_days::INTEGER), date)::TIMESTAMP AS time, depth_cm,
       avg(mean) AS value, min(low) AS low, max(high) AS high
FROM daily
WHERE site = $site AND date BETWEEN $start::DATE AND $date::DATE
GROUP BY time_bucket(to_days($bucket_days::INTEGER), date), depth_cm
ORDER BY depth_cm, time
