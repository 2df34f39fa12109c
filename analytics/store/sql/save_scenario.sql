-- params: name text, told json, author text, made_at time
INSERT INTO scenarios BY NAME
SELECT $name AS name, $told::JSON AS told, $author AS author, $made_at::TIMESTAMPTZ AS made_at
