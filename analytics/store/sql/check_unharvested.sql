-- A season without a harvest date although a later crop was planted in the same field, or longer
-- ago than any crop stands. A planting still to come (after the day that the results stand for) is
-- a plan and says nothing.
-- params: longest_crop_d number
WITH looked AS (
    SELECT coalesce((SELECT max(as_of) FROM assessments), current_date) AS day
)

SELECT one.field || ', ' || one.crop || ' planted ' || one.planted_on AS subject,
       one.field, one.crop, one.planted_on
FROM seasons AS one, looked
WHERE one.harvested_on IS NULL AND (
    one.planted_on + CAST($longest_crop_d AS INTEGER) <= looked.day
    OR EXISTS (
        FROM seasons AS later
        WHERE later.field = one.field AND later.planted_on > one.planted_on
          AND later.planted_on <= looked.day
    )
)
ORDER BY subject
