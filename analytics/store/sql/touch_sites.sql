-- params: sites texts
INSERT INTO touched (number, site)
SELECT nextval('touches'), unnest($sites::VARCHAR[])
RETURNING number
