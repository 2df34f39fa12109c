-- Every version that a person set at one site, those taken back too, latest first.
SELECT *
FROM set_limits
WHERE site = $site
ORDER BY id DESC
