-- title: Which starting values of practice sway the conclusions most
-- description: A starting value has no published source, only a range. For each: on how many
--   instruments it is among those that sway most, how far it moves a chance at the most, and
--   how often it carries one across even. These are the values worth measuring.
-- for: researcher
-- parameter fewest: On at least this many instruments | 1
-- plot: name, furthest
-- column name: the starting value, with its unit and its row
-- column instruments: on how many instruments it is among those that sway most
-- column furthest: by how many percentage points it moves a chance at the most
-- column across_even: how often it carries a chance from one side of even to the other
-- column sentence: where it moves most
SELECT name,
       count(DISTINCT instrument) AS instruments,
       round(100 * max(abs(chance_at_high - chance_at_low)), 1) AS furthest,
       sum((chance_at_low < 0.5) <> (chance_at_high < 0.5)) AS across_even,
       sentence
FROM sway
GROUP BY value
HAVING count(DISTINCT instrument) >= CAST(:fewest AS INTEGER)
ORDER BY furthest DESC, value
LIMIT 50
