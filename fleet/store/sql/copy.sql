-- Everything, through the engine: it reads a consistent state even where a log beside the
-- source has not been worked in yet.
COPY FROM DATABASE source TO target;
CHECKPOINT target;
DETACH target;
