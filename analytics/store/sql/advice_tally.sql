-- Every closed off-season of every whole profile.
SELECT site, start_mm, end_mm, received_mm, "open", depth_cm
FROM tally
WHERE depth_cm IS NULL AND NOT "open"
ORDER BY site, "from"
