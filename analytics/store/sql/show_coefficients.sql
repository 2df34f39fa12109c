-- Every version of crop coefficients that a person set, newest first, undone ones too.
SELECT id, crop, field, kc_ini, kc_mid, kc_end, stages_d, author, reason, made_at, undone_at,
       undone_by
FROM coefficients
ORDER BY id DESC
