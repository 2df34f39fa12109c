-- A season without a harvest date although a later crop was planted in the same field.
SELECT field || ', ' || crop || ' planted ' || planted_on AS subject FROM seasons AS one
WHERE harvested_on IS NULL AND EXISTS (
    FROM seasons AS later
    WHERE later.field = one.field AND later.planted_on > one.planted_on
)
ORDER BY subject
