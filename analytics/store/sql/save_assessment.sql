-- params: generation integer, as_of date, made_at time, version text, settings text
INSERT INTO assessments VALUES ($generation, $as_of, $made_at, $version, $settings)
