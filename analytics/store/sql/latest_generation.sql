SELECT coalesce(max(generation), 0) FROM assessments
