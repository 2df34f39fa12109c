-- params: import integer, site text, depth_cm number, from time, to time, readings integer
INSERT INTO filled
SELECT $import, $site, $depth_cm::DOUBLE, $from, $to, $readings
