-- params: since date
INSERT INTO touched (number, site, since)
SELECT nextval('touches'), site, $since::DATE::TIMESTAMPTZ FROM (SELECT DISTINCT site FROM sites)
