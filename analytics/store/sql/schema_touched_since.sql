-- From which instant on readings are new, where nothing else is; blank: anything may be.
ALTER TABLE touched ADD COLUMN since TIMESTAMPTZ
