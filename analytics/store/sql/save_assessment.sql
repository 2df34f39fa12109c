-- params: generation integer, as_of date, made_at time, version text, settings json
INSERT INTO assessments VALUES ($generation, $as_of, $made_at, $version, $settings)
