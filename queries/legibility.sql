-- title: How well marks can be read, by position
-- description: How many marks were recorded in each position, how many of them have a glyph that
--   cannot be read for certain, and how often a search found none or none that could be read.
--   A mark that cannot be read is no observation; it speaks neither for nor against anything.
-- for: researcher, collector
-- column position: the position, without its suffix
-- column marks: marks recorded
-- column with_doubt: of them, marks with a glyph in doubt (? or a choice in brackets)
-- column used: of them, marks from which a date is drawn
-- column nothing_read: records that nothing was read, found or looked for
-- column instruments: instruments with any of these
WITH told AS (
    SELECT l.key, l.section, l.instrument,
           CASE instr(p.position, '.')
               WHEN 0 THEN p.position ELSE substr(p.position, 1, instr(p.position, '.') - 1)
           END AS position,
           EXISTS (
               SELECT 1 FROM reading AS r
               WHERE r.line = l.key AND (instr(r.text, '?') > 0 OR instr(r.text, '[') > 0)
           ) AS in_doubt,
           EXISTS (SELECT 1 FROM reading AS r WHERE r.line = l.key AND r.is_used = 'yes') AS used
    FROM line AS l JOIN line_position AS p ON p.line = l.key
    WHERE l.section IN ('marks', 'non_values')
)
SELECT position,
       count(DISTINCT CASE section WHEN 'marks' THEN key END) AS marks,
       count(DISTINCT CASE WHEN section = 'marks' AND in_doubt THEN key END) AS with_doubt,
       count(DISTINCT CASE WHEN section = 'marks' AND used THEN key END) AS used,
       count(DISTINCT CASE section WHEN 'non_values' THEN key END) AS nothing_read,
       count(DISTINCT instrument) AS instruments
FROM told
GROUP BY position
ORDER BY position
