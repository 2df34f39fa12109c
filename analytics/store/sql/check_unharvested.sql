-- A season without a harvest date although a later crop was planted in the same field. A
-- planting still to come (after the day that the results stand for) is a plan and says nothing.
SELECT field || ', ' || crop || ' planted ' || planted_on AS subject FROM seasons AS one
WHERE harvested_on IS NULL AND EXISTS (
    FROM seasons AS later
    WHERE later.field = one.field AND later.planted_on > one.planted_on
      AND later.planted_on <= coalesce((SELECT max(as_of) FROM assessments), current_date)
)
ORDER BY subject
