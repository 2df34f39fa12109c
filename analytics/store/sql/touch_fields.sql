-- params: fields texts, since date
-- `since` is blank where the fields' past may look other than it did.
INSERT INTO touched (number, site, since)
SELECT nextval('touches'), site, $since::DATE::TIMESTAMPTZ
FROM (SELECT DISTINCT site FROM sites WHERE list_contains($fields::VARCHAR[], field))
