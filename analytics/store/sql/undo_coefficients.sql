-- params: id integer, at time, by text
UPDATE coefficients
SET undone_at = $at::TIMESTAMPTZ, undone_by = $by
WHERE id = $id AND undone_at IS NULL
RETURNING id
