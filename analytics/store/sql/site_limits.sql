-- params: site text
-- Every version of one site's points.
SELECT * FROM limits WHERE site = $site
