-- params: site text
SELECT * FROM set_limits WHERE site = $site ORDER BY valid_from
