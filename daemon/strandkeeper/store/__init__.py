"""The record file; the one place that speaks SQL."""

from strandkeeper.store.batch import Batch
from strandkeeper.store.reader import RecordReader, open_reader
from strandkeeper.store.writer import RecordWriter, open_writer

__all__ = ["Batch", "RecordReader", "RecordWriter", "open_reader", "open_writer"]
