-- Files of the same bytes, read alike and of the same sites, that were taken; and whether a later one speaks of the same.
-- params: sha256 text, mapping text, kind text, sites texts
SELECT i.id, EXISTS (
    SELECT 1 FROM imports AS later
    WHERE later.id > i.id AND later.sha256 <> i.sha256 AND later.kind = i.kind
      AND (len(i.sites) = 0 OR list_has_any(later.sites, i.sites))
) AS told_since
FROM imports AS i
WHERE i.sha256 = $sha256 AND i.mapping = $mapping AND i.kind = $kind
  AND list_sort(i.sites) = list_sort($sites::VARCHAR[])
ORDER BY i.id DESC
LIMIT 1
