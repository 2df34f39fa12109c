-- params: sha256 text, mapping text, kind text
SELECT id, made_at FROM imports
WHERE sha256 = $sha256 AND mapping = $mapping AND kind = $kind
