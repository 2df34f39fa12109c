-- params: number integer, undone_at time, undone_by text
UPDATE flag_edits SET undone_at = $undone_at, undone_by = $undone_by
WHERE id = $number AND undone_at IS NULL
RETURNING site
