-- params: numbers integers
DELETE FROM touched WHERE list_contains($numbers::BIGINT[], number)
