-- The full point in force of every layer, what the record says beside it, and the layer's edges.
-- A probe's latest hole is the one that opened last: parts of a hole have larger numbers than the next one.
WITH opened AS (
    SELECT site, placement, min(valid_from) AS opened_on FROM limits GROUP BY site, placement
), ranked AS (
    SELECT l.*, row_number() OVER (PARTITION BY site, depth_cm
                                   ORDER BY opened_on DESC, placement DESC, valid_from DESC) AS rank
    FROM limits l JOIN opened USING (site, placement)
    WHERE l.point = 'full'
), recorded AS (
    SELECT * FROM limits WHERE point = 'full' AND state <> 'set'
    QUALIFY row_number() OVER (PARTITION BY site, placement, depth_cm
                               ORDER BY valid_from DESC) = 1
), held AS (
    SELECT * FROM set_limits WHERE point = 'full' AND reverted_at IS NULL
    QUALIFY row_number() OVER (PARTITION BY site, placement, depth_cm
                               ORDER BY valid_from DESC, id DESC) = 1
), edges AS (
    SELECT field, site, depth_cm, top_cm, bottom_cm FROM readiness WHERE zone = 'layer'
    QUALIFY row_number() OVER (PARTITION BY site, depth_cm ORDER BY date DESC) = 1
)
SELECT e.field, coalesce(f.name, e.field) AS name, r.site, r.placement, r.depth_cm, e.top_cm,
       e.bottom_cm, r.value, r.sd, r.state, r.reason, r.ponded, c.value AS recorded,
       c.sd AS recorded_sd, c.state AS recorded_state, h.id AS set_id,
       coalesce(h.pinned, false) AS pinned
FROM ranked r
JOIN edges e USING (site, depth_cm)
LEFT JOIN fields f ON f.field = e.field
LEFT JOIN recorded c ON c.site = r.site AND c.placement = r.placement AND c.depth_cm = r.depth_cm
LEFT JOIN held h ON h.site = r.site AND h.placement = r.placement AND h.depth_cm = r.depth_cm
WHERE r.rank = 1
ORDER BY name, r.site, r.depth_cm
