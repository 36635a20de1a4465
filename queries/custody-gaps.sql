-- title: Gaps in custody
-- description: From when to when nothing is told of where an instrument was. Holders and places
--   are never published. A gap is a gap in the record; it says nothing about anyone.
-- for: dealer, collector
-- parameter years: At least this many years long | 1
-- column instrument: the instrument
-- column gap_begins: the last day that is told before the gap, as far as it is told
-- column gap_ends: the first day that is told after the gap, as far as it is told
-- column years: how long the gap is, in years
WITH told AS (
    -- A year or a month stands for all its days; a later end reaches over earlier stretches.
    SELECT instrument,
           substr(begins || '-01-01', 1, 10) AS begins,
           max(
               CASE length(ends)
                   WHEN 4 THEN ends || '-12-31'
                   WHEN 7 THEN date(ends || '-01', '+1 month', '-1 day')
                   -- An end that is not told reaches no further than the begin that is.
                   ELSE coalesce(ends, begins || substr('-12-31', length(begins) - 3))
               END
           ) OVER (
               PARTITION BY instrument
               ORDER BY substr(begins || '-01-01', 1, 10)
               ROWS UNBOUNDED PRECEDING
           ) AS reached
    FROM timeline_item
    -- A gap that the report names is no holder.
    WHERE lane = 'custody' AND begins IS NOT NULL AND label NOT LIKE 'Gap:%'
),
steps AS (
    SELECT instrument, reached AS gap_begins,
           lead(begins) OVER (PARTITION BY instrument ORDER BY begins) AS gap_ends
    FROM told
)
SELECT instrument, gap_begins, gap_ends,
       round((julianday(gap_ends) - julianday(gap_begins)) / 365.2425, 1) AS years
FROM steps
WHERE gap_ends > date(gap_begins, '+1 day')
  AND (julianday(gap_ends) - julianday(gap_begins)) / 365.2425 >= CAST(:years AS REAL)
ORDER BY instrument, gap_begins
