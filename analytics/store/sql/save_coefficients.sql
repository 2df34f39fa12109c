-- params: crop text, field text, kc_ini number, kc_mid number, kc_end number, stages_d integers, author text, reason text, made_at time
INSERT INTO coefficients BY NAME
SELECT (SELECT coalesce(max(id), 0) + 1 FROM coefficients) AS id, $crop AS crop,
       $field AS field, $kc_ini::DOUBLE AS kc_ini, $kc_mid::DOUBLE AS kc_mid,
       $kc_end::DOUBLE AS kc_end, $stages_d::BIGINT[] AS stages_d, $author AS author,
       $reason AS reason, $made_at::TIMESTAMPTZ AS made_at
RETURNING id
