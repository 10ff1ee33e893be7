-- No segment holds a fault.
CREATE TEMP TABLE stored_fault (visit BIGINT, component VARCHAR, basis VARCHAR);
