-- params: sources texts
INSERT INTO touched (number, site)
SELECT nextval('touches'), site
FROM (SELECT DISTINCT s.site
      FROM sites s
      JOIN fields f ON f.field = s.field
      WHERE list_contains($sources::VARCHAR[], f.source))
