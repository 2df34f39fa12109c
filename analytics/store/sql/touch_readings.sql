-- params: sites texts, micros integers
-- Sites of which nothing but readings from an instant on (microseconds since 1970) are new.
INSERT INTO touched (number, site, since)
SELECT nextval('touches'), site, make_timestamptz(micros)
FROM (SELECT unnest($sites::VARCHAR[]) AS site, unnest($micros::BIGINT[]) AS micros)
