-- Past forecasts of crops' root zones.
SELECT * FROM season_cases
