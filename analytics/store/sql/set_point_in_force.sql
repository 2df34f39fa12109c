-- params: site text, placement integer, depth_cm number, point text
-- The set version of a point that holds, if a person set one that was not taken back.
SELECT id, value, set_by
FROM set_limits
WHERE site = $site AND placement = $placement::BIGINT AND depth_cm = $depth_cm::DOUBLE
  AND point = $point AND reverted_at IS NULL
ORDER BY valid_from DESC, id DESC
LIMIT 1
