-- The balance's own error, as past forecasts that the probe set right tell it.
SELECT balance_error_mm FROM season_grade WHERE kind = 'corrected'
