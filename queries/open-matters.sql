-- title: What is still open
-- description: Things seen that nothing recorded explains, and questions nobody has answered.
--   They stay here until something explains them.
-- for: collector, dealer, researcher
-- parameter instrument: Only this instrument |
-- column instrument: the instrument
-- column what: a surprise or a question
-- column sentence: what is open
SELECT instrument, 'surprise' AS what, sentence
FROM surprise
-- With none named: up to ~, which no name goes beyond. An OR would keep the index from being used.
WHERE is_open = 'yes' AND instrument BETWEEN :instrument AND iif(:instrument = '', '~', :instrument)
UNION ALL
SELECT instrument, 'question', sentence
FROM question
WHERE instrument BETWEEN :instrument AND iif(:instrument = '', '~', :instrument)
ORDER BY instrument, what DESC, sentence
