-- params: site text, placement integer, depth_cm number, point text, value number, sd number, valid_from date, set_by text, reason text, made_at time, pinned integer
INSERT INTO set_limits BY NAME
SELECT $site AS site, $placement::BIGINT AS placement, $depth_cm::DOUBLE AS depth_cm,
       $point AS point, $value::DOUBLE AS value, $sd::DOUBLE AS sd, 'set' AS state,
       $valid_from::DATE AS valid_from, $set_by AS set_by, $reason AS reason, 0 AS wettings,
       false AS ponded, $made_at::TIMESTAMPTZ AS made_at, $pinned::BOOLEAN AS pinned,
       (SELECT coalesce(max(id), 0) + 1 FROM set_limits) AS id
RETURNING id
