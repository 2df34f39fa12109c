-- params: field text, kind text, since date, author text, reason text, made_at time
INSERT INTO dismissals BY NAME
SELECT $field AS field, $kind AS kind, $since::DATE AS since, $author AS author,
       $reason AS reason, $made_at::TIMESTAMPTZ AS made_at
