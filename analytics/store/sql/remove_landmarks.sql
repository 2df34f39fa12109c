DELETE FROM landmarks
USING leaving
WHERE landmarks.landmark = leaving.landmark
RETURNING landmarks.landmark
