-- A crop that was planted while the one before it still stood.
SELECT DISTINCT next.field || ': ' || next.crop || ' planted ' || next.planted_on || ', before '
       || one.crop || ' was harvested on ' || one.harvested_on AS subject
FROM seasons AS one JOIN seasons AS next
    ON one.field = next.field AND one.planted_on < next.planted_on
WHERE one.harvested_on > next.planted_on
ORDER BY subject
