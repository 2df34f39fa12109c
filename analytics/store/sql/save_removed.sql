-- params: made_at time, taken_from text, told texts
INSERT INTO removed BY NAME
SELECT $made_at::TIMESTAMPTZ AS made_at, $taken_from AS taken_from, unnest($told::VARCHAR[])::JSON AS told
