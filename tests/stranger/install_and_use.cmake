# Installs the build BUILD into a fresh folder, builds the stranger's program against it (with GENERATOR), and runs it.
set(place ${BUILD}/stranger)
file(REMOVE_RECURSE ${place})
foreach(step "${CMAKE_COMMAND};--install;${BUILD};--prefix;${place}/installed"
             "${CMAKE_COMMAND};-G;${GENERATOR};-S;${SOURCE};-B;${place}/build;-DCMAKE_PREFIX_PATH=${place}/installed;-DCMAKE_BUILD_TYPE=Release"
             "${CMAKE_COMMAND};--build;${place}/build"
             "${place}/build/stranger" "${place}/installed/bin/rondure;--version")
  execute_process(COMMAND ${step} RESULT_VARIABLE status OUTPUT_VARIABLE output ERROR_VARIABLE output)
  if(NOT status EQUAL 0)
    message(FATAL_ERROR "failed: ${step}\n${output}")
  endif()
endforeach()
foreach(file bin/rondure share/man/man1/rondure.1 share/bash-completion/completions/rondure
             share/zsh/vendor-completions/_rondure share/fish/vendor_completions.d/rondure.fish)
  if(NOT EXISTS ${place}/installed/${file})
    message(FATAL_ERROR "not installed: ${file}")
  endif()
endforeach()
