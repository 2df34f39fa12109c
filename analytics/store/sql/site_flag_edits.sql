-- params: sites texts
SELECT site, depth_cm, flag, "from", "to", action
FROM flag_edits
WHERE list_contains($sites::VARCHAR[], site) AND undone_at IS NULL
ORDER BY site, id
