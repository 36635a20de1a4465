-- title: What was challenged, and what was conceded
-- description: Every challenge on record with the statements that it touches, what would fall if it
--   were right, what is conceded, and how many answers there are. None of them is evidence.
-- for: dealer, collector
-- parameter instrument: Only this instrument |
-- column instrument: the instrument
-- column says: the challenge, in the challenger's own words
-- column claims: the statements that it touches
-- column falls: what would no longer be so if it were right
-- column conceded: what is conceded, by answers on record and by the report
-- column answers: how many answers are on record
SELECT instrument, says, claims, falls, conceded, answers
FROM challenge
-- With none named: up to ~, which no name goes beyond. An OR would keep the index from being used.
WHERE instrument BETWEEN :instrument AND iif(:instrument = '', '~', :instrument)
ORDER BY instrument, sequence
