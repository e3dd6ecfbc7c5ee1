"""The pages a person opens: the report and the visits to tag, with their drawings."""
