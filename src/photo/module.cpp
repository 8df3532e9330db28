namespace rondure {}
