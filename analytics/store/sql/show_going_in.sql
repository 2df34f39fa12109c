-- One row a field: the readiness of a zone on a date, with what the list and map say beside it.
-- Of several probes in a field the one asked for speaks, else the shortest of water. A field without readiness stays in.
WITH latest AS (
    SELECT *
    FROM readiness
    WHERE date BETWEEN $date::DATE - $window_days::INTEGER AND $date::DATE
      AND zone <> 'layer'
    QUALIFY date = max(date) OVER (PARTITION BY site)
),
chosen AS (
    SELECT *
    FROM latest
    WHERE zone = $zone
    QUALIFY row_number() OVER (
        PARTITION BY field ORDER BY site = $site DESC, deficit_mm DESC NULLS LAST, site) = 1
),
other AS (
    SELECT site, date,
           max(fill) FILTER (WHERE zone = 'upper') AS upper_fill,
           max(deficit_mm) FILTER (WHERE zone = 'upper') AS upper_deficit_mm,
           max(deficit_mm) FILTER (WHERE zone = 'deep') AS deep_deficit_mm,
           max(headlines) FILTER (WHERE zone = 'profile') AS headlines
    FROM latest
    GROUP BY site, date
),
-- A zone's own day is that of its oldest layer; a probe is as old as its newest.
heard AS (
    SELECT site, date, max(read_on) AS read_on
    FROM readiness
    WHERE date BETWEEN $date::DATE - $window_days::INTEGER AND $date::DATE
    GROUP BY site, date
),
coming AS (
    SELECT field, crop AS next_crop, planted_on
    FROM seasons
    WHERE planted_on > $date::DATE
    QUALIFY row_number() OVER (PARTITION BY field ORDER BY planted_on) = 1
),
had AS (
    SELECT field, crop AS last_crop, planted_on AS last_planted_on,
           harvested_on IS NULL OR harvested_on > $date::DATE AS growing
    FROM seasons
    WHERE planted_on <= $date::DATE
    QUALIFY row_number() OVER (PARTITION BY field ORDER BY planted_on DESC) = 1
),
winter AS (
    SELECT t.site, "from", "to",
           CASE WHEN count(change_mm) = count(*) THEN
               sum(change_mm * (least(t.bottom_cm, c.bottom_cm) - greatest(t.top_cm, c.top_cm))
                   / (t.bottom_cm - t.top_cm)) END AS change_mm
    FROM tally t
    JOIN chosen c ON c.site = t.site AND t.bottom_cm > c.top_cm AND t.top_cm < c.bottom_cm
    WHERE t.depth_cm IS NOT NULL AND "from" <= $date::DATE
    GROUP BY t.site, "from", "to"
    QUALIFY row_number() OVER (PARTITION BY t.site ORDER BY "from" DESC) = 1
)
SELECT f.field, coalesce(nullif(f.name, ''), f.field) AS name, f.grower, f.source, f.soil,
       f.irrigated_ha, f.root_limit_cm, coalesce(nullif(s.name, ''), f.source) AS source_name,
       c.site, c.date, c.water_mm, c.full_mm, c.lower_mm, c.deficit_mm, c.sd_mm, c.fill,
       c.class, c.class_probability, c.p_depleted, c.p_low, c.p_partial, c.p_near_full,
       c.p_full, c.basis, o.headlines, c.seen, c.held, c.last_full,
       r.read_on, c.left_mm,
       o.upper_fill, o.upper_deficit_mm, o.deep_deficit_mm,
       n.next_crop, n.planted_on, h.last_crop, h.last_planted_on, h.growing,
       w.change_mm, w."from" AS winter_from, w."to" AS winter_to,
       $date::DATE - c.last_full AS days_since_full,
       $date::DATE - r.read_on AS age_days
FROM fields f
LEFT JOIN sources s ON s.source = f.source
LEFT JOIN chosen c ON c.field = f.field
LEFT JOIN other o ON o.site = c.site AND o.date = c.date
LEFT JOIN heard r ON r.site = c.site AND r.date = c.date
LEFT JOIN coming n ON n.field = f.field
LEFT JOIN had h ON h.field = f.field
LEFT JOIN winter w ON w.site = c.site
ORDER BY c.deficit_mm DESC NULLS LAST, name, f.field
