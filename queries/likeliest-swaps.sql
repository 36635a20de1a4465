-- title: Which parts are likeliest not to be the first, across all instruments
-- description: Every part, or group fitted as one, whose chance of having left the works with its
--   instrument is at most as high as asked, the least likely first. A chance rests on starting
--   values of practice; its range says how far they matter. The first fifty are told.
-- for: dealer, collector, researcher
-- parameter most: A chance of at most (percent) | 50
-- parameter position: Position begins with (such as pot; empty for all) |
-- plot: name, chance, low, high
-- column instrument: the instrument
-- column name: the part
-- column chance: how likely it is the first, in percent
-- column low: the lower end over the range of every starting value, in percent
-- column high: the upper end over the range of every starting value, in percent
-- column verdict: what can be said
-- column if_not: the likeliest way of replacing it
-- column finding: where the chain beneath it opens
SELECT instrument, name,
       CASE WHEN part_chance.chance < 0.0005 THEN 'under 0.1' WHEN part_chance.chance > 0.9995 THEN 'over 99.9'
           ELSE round(100 * part_chance.chance, 1) END AS chance,
       CASE WHEN coalesce(widest_low, part_chance.low) < 0.0005 THEN 'under 0.1' WHEN coalesce(widest_low, part_chance.low) > 0.9995 THEN 'over 99.9'
           ELSE round(100 * coalesce(widest_low, part_chance.low), 1) END AS low,
       CASE WHEN coalesce(widest_high, part_chance.high) < 0.0005 THEN 'under 0.1' WHEN coalesce(widest_high, part_chance.high) > 0.9995 THEN 'over 99.9'
           ELSE round(100 * coalesce(widest_high, part_chance.high), 1) END AS high,
       verdict,
       CASE max(service, period, transplant)
           WHEN service THEN 'in ordinary repair'
           WHEN period THEN 'chosen to match'
           ELSE 'with others from another example'
       END AS if_not,
       finding
FROM part_chance
WHERE part_chance.chance <= CAST(:most AS REAL) / 100
  AND (:position = '' OR substr(positions, 1, length(:position)) = :position)
ORDER BY part_chance.chance, instrument
LIMIT 50
