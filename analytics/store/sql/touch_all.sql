INSERT INTO touched (number, site)
SELECT nextval('touches'), site FROM (SELECT DISTINCT site FROM sites)
