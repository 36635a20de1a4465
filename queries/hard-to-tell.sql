-- title: Where it is hardest to tell whether a part is the first
-- description: Parts whose chance lies between the two shares asked, those nearest to even first,
--   with the line that is worth most for or against each. Here another look would settle most.
--   The first fifty are told.
-- for: collector, dealer, researcher
-- parameter least: A chance of at least (percent) | 20
-- parameter most: A chance of at most (percent) | 80
-- plot: name, chance, low, high
-- column instrument: the instrument
-- column name: the part
-- column chance: how likely it is the first, in percent
-- column low: the lower end over the range of every starting value, in percent
-- column high: the upper end over the range of every starting value, in percent
-- column verdict: what can be said
-- column heaviest: the line or lines that are worth most for it or against it
-- column finding: where the chain beneath it opens
WITH nearest AS (
    -- Of either side of even the fifty next to it: each is one stretch of the index.
    SELECT * FROM (
        SELECT * FROM part_chance
        WHERE chance <= 0.5
          AND chance BETWEEN CAST(:least AS REAL) / 100 AND CAST(:most AS REAL) / 100
        ORDER BY chance DESC LIMIT 50
    )
    UNION ALL
    SELECT * FROM (
        SELECT * FROM part_chance
        WHERE chance > 0.5
          AND chance BETWEEN CAST(:least AS REAL) / 100 AND CAST(:most AS REAL) / 100
        ORDER BY chance LIMIT 50
    )
)
SELECT p.instrument, p.name,
       round(100 * p.chance, 1) AS chance,
       CASE WHEN coalesce(p.widest_low, p.low) < 0.0005 THEN 'under 0.1' WHEN coalesce(p.widest_low, p.low) > 0.9995 THEN 'over 99.9'
           ELSE round(100 * coalesce(p.widest_low, p.low), 1) END AS low,
       CASE WHEN coalesce(p.widest_high, p.high) < 0.0005 THEN 'under 0.1' WHEN coalesce(p.widest_high, p.high) > 0.9995 THEN 'over 99.9'
           ELSE round(100 * coalesce(p.widest_high, p.high), 1) END AS high,
       p.verdict,
       (SELECT w.sentence FROM line_weight AS w
        WHERE w.instrument = p.instrument AND w.about = p.finding
        ORDER BY max(w.ratio, 1 / max(w.ratio, 1e-300)) DESC LIMIT 1) AS heaviest,
       p.finding
FROM nearest AS p
ORDER BY abs(p.chance - 0.5), p.instrument
LIMIT 50
