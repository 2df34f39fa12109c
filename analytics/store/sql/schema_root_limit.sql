-- A layer that roots cannot pass: a pan, rock, a water table; blank: none is known.
ALTER TABLE fields ADD COLUMN root_limit_cm DOUBLE
