-- Every closed off-season of every whole profile, bare of a crop.
SELECT site, "from", "to", start_mm, end_mm, received_mm, "open", standing, depth_cm
FROM tally
WHERE depth_cm IS NULL AND NOT "open" AND NOT standing
ORDER BY site, "from"
