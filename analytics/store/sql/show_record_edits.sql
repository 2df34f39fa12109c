-- Every edit of one site's flags, newest first, undone ones too.
SELECT id, depth_cm, flag, "from", "to", action, author, reason, made_at, undone_at, undone_by
FROM flag_edits
WHERE site = $site
ORDER BY id DESC
