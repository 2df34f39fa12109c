-- Each layer's daily values, reduced to one lowest, highest and middle value a bucket of days.
-- Under frost the value held stands for the reading, which tells nothing of the water.
SELECT time_bucket(to_days($bucket_days::INTEGER), date)::TIMESTAMP AS time, depth_cm,
       avg(CASE WHEN held THEN state ELSE mean END) AS value,
       min(low) FILTER (WHERE held IS NOT TRUE) AS low,
       max(high) FILTER (WHERE held IS NOT TRUE) AS high,
       coalesce(avg(held::INTEGER) >= 0.5, false) AS held
FROM daily
WHERE site = $site AND date BETWEEN $start::DATE AND $date::DATE
GROUP BY time_bucket(to_days($bucket_days::INTEGER), date), depth_cm
ORDER BY depth_cm, time
