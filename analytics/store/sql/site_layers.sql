-- params: sites texts
SELECT * FROM layers WHERE list_contains($sites::VARCHAR[], site) ORDER BY site, depth_cm
