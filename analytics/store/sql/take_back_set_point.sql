-- params: id integer, at time, by text, why text
UPDATE set_limits
SET reverted_at = $at::TIMESTAMPTZ, reverted_by = $by, reverted_why = $why
WHERE id = $id AND reverted_at IS NULL
RETURNING site
