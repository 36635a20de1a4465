-- title: When the instruments were completed, year by year
-- description: The chances of all weeks of a year added up over all instruments: how many of them
--   one expects to have been completed in it. Nothing of this site is a fair sample of what
--   was made; the sum tells what is published here.
-- for: researcher
-- parameter maker: Maker, as recorded (empty for all) |
-- plot: year, expected
-- column year: the year
-- column expected: how many instruments of this site one expects to be from it
-- column instruments: how many have any chance of it
SELECT year,
       round(sum(chance), 2) AS expected,
       count(DISTINCT instrument) AS instruments
FROM year_chance
WHERE event = 'completed'
  AND (:maker = '' OR instrument IN (SELECT id FROM instrument WHERE maker = :maker))
GROUP BY year
HAVING sum(chance) >= 0.005
ORDER BY year
