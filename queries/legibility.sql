-- title: How well marks can be read, by position
-- description: How many marks were recorded in each position, how many of them are in doubt, and
--   how often nothing was read, by which of the four nothings it was: searched and not found, not
--   legible, not examined, or not applicable. None of them speaks for or against anything.
-- for: researcher, collector
-- column position: the position, without its suffix
-- column marks: marks recorded
-- column with_doubt: of them, marks recorded as worn or partial, or with a glyph in doubt (? or a
--   choice in brackets); a mark whose text is withheld is told by the first alone
-- column used: of them, marks from which a date is drawn
-- column not_found: records that something was searched for and not found
-- column not_legible: records that something is there and cannot be read
-- column not_examined: records that it was not looked for
-- column not_applicable: records that there is nothing of the kind to look for
-- column instruments: instruments with any of these
WITH told AS (
    SELECT l.key, l.section, l.seen, l.instrument,
           CASE instr(p.position, '.')
               WHEN 0 THEN p.position ELSE substr(p.position, 1, instr(p.position, '.') - 1)
           END AS position,
           l.seen IN ('worn', 'partial') OR EXISTS (
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
       count(DISTINCT CASE seen WHEN 'searched, not found' THEN key END) AS not_found,
       count(DISTINCT CASE seen WHEN 'not legible' THEN key END) AS not_legible,
       count(DISTINCT CASE seen WHEN 'not examined' THEN key END) AS not_examined,
       count(DISTINCT CASE seen WHEN 'not applicable' THEN key END) AS not_applicable,
       count(DISTINCT instrument) AS instruments
FROM told
GROUP BY position
ORDER BY position
