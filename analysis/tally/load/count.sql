-- count_visit: one row per model and month.
CREATE TABLE count_visit AS
SELECT model, month, count(*) AS visits,
       count(CASE WHEN diagnosed THEN 1 END) AS diagnosed,
       count(CASE WHEN unread AND NOT diagnosed THEN 1 END) AS unread
FROM visit
GROUP BY model, month;

-- count_fault: one row per model, month and component.
CREATE TABLE count_fault AS
SELECT model, month, component, is_cause, count(*) AS faults
FROM fault
GROUP BY model, month, component, is_cause;
