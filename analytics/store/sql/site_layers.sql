-- params: site text
SELECT * FROM layers WHERE site = $site ORDER BY depth_cm
