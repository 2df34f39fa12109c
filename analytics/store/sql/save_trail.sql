-- Note who did what.
-- params: made_at time, who text, what text, about text
INSERT INTO trail BY NAME
SELECT $made_at::TIMESTAMPTZ AS made_at, $who AS who, $what AS what, $about AS about
