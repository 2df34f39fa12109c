INSERT INTO touched
SELECT nextval('touches'), site FROM (SELECT DISTINCT site FROM sites)
