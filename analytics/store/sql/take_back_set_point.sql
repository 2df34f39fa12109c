-- params: id integer, at time, by text, why text
-- Only the version of its point that holds: one below a later one is not on anybody's page.
UPDATE set_limits
SET reverted_at = $at::TIMESTAMPTZ, reverted_by = $by, reverted_why = $why
WHERE id = $id AND reverted_at IS NULL
  AND NOT EXISTS (
      SELECT 1
      FROM set_limits AS later
      WHERE later.site = set_limits.site AND later.placement = set_limits.placement
        AND later.depth_cm = set_limits.depth_cm AND later.point = set_limits.point
        AND later.reverted_at IS NULL
        AND (later.valid_from, later.id) > (set_limits.valid_from, set_limits.id)
  )
RETURNING site
