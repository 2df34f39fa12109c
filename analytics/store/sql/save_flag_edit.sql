-- params: site text, depth_cm number, flag text, from time, to time, action text, author text, reason text, made_at time
INSERT INTO flag_edits
SELECT nextval('flag_edit_numbers'), $site, $depth_cm::DOUBLE, $flag, $from, $to, $action,
       $author, $reason, $made_at, NULL, NULL
RETURNING id
