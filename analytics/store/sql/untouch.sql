-- params: sites texts, seen integer
DELETE FROM touched WHERE list_contains($sites::VARCHAR[], site) AND number <= $seen
