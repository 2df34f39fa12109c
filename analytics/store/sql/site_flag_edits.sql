-- params: site text
SELECT depth_cm, flag, "from", "to", action
FROM flag_edits
WHERE site = $site AND undone_at IS NULL
ORDER BY id
